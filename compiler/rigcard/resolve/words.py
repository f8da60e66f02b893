"""The fixed words of the language that the grammar treats as names: roles, hazards, papers and others."""

ROLES = (
    "handset",
    "receiver",
    "head",
    "adapter",
    "camera",
    "lens",
    "motor",
    "pack",
    "regulator",
    "charger",
    "mains",
    "lens-mount",
    "monitor",
    "sender",
    "mast",
    "vehicle",
    "other",
)
HAZARDS = ("moving-parts", "overhead", "airborne", "lithium", "vehicle", "water", "mains", "public")
LANGUAGES = ("en", "de")  # ISO 639-1; one file each in `languages`, but for English
PAPERS = ("a4", "letter")
CARDS = ("a6", "a5", "a4")
PER_SHEET = (1, 2, 4)
CODES = ("matrix", "linear")
PHASES = ("rigging", "bind", "power-up", "power-down")
SHOWN_WHEN = ("on", "linked")  # or a command that the device obeys, or a state of one of its inputs
SIGNAL_KINDS = ("commands", "power", "picture")
MOUNTS = ("upright", "underslung")
SHAPES = ("rate", "expo", "slow")
LEARNABLE = (
    "pulse",
    "step",
    "shifts",
    "reverse",
    "mix",
    "output",
)  # what the model of a handset may leave unknown
MENUS = (  # of a handset, in the order of most (common practice, no source)
    "control",
    "travel",
    "subtrim",
    "reverse",
    "rate",
    "expo",
    "slow",
    "failsafe",
)
POLARITIES = ("normal", "inverted")
CHEMISTRIES = (
    "lithium-ion",
    "lithium-polymer",
    "lithium-iron-phosphate",
    "nickel-metal-hydride",
    "lead-acid",
)


def a_role(role: str) -> str:
    """A role with its article, for messages."""
    return "of role `other`" if role == "other" else f"an {role}" if role[:1] in "aeiou" else f"a {role}"
