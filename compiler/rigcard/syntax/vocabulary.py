"""What the words, numbers and signs of the language are called in messages, and what is taken for them by mistake."""

import re

QUANTITIES = {
    "PERCENT": ("a percentage", "70%"),
    "PULSE": ("a pulse length", "1520us"),
    "LENGTH": ("a length", "600mm"),
    "SHIFT": ("a length", "0.5mm"),
    "MASS": ("a mass", "0.9kg"),
    "DURATION": ("a time", "800ms"),
    "TURN": ("a turn", "60deg/s"),
    "BAUD": ("a rate of a serial line", "100000baud"),
    "VOLTAGE": ("a voltage", "12V"),
    "CURRENT": ("a current", "2.5A"),
    "POWER": ("a power", "55W"),
    "ENERGY": ("an energy", "98Wh"),
    "CHARGE": ("a charge", "6.6Ah"),
    "HOURS": ("a time", "10h"),
    "TEMPERATURE": ("a temperature", "30C"),
    "WIRE": ("a size of wire", "1.5mm2"),
    "INT": ("a whole number", "4"),
}
UNITS = {
    "%": "percentage",
    "us": "pulse length",
    "mm": "length",
    "cm": "length",
    "m": "length",
    "kg": "mass",
    "g": "mass",
    "baud": "rate of a serial line",
    "V": "voltage",
    "A": "current",
    "mA": "current",
    "Ah": "charge",
    "mAh": "charge",
    "Wh": "energy",
    "W": "power",
    "C": "temperature",
    "mm2": "cross-section",
    "mm²": "cross-section",
    "s": "time",
    "ms": "time",
    "min": "time",
    "h": "time",
    "deg": "turn",
    "deg/s": "turn",
}
SEVERAL = {  # units that a number without one may be meant in
    "LENGTH": ("mm", "cm", "m"),
    "MASS": ("g", "kg"),
    "CURRENT": ("mA", "A"),
    "TURN": ("deg", "deg/s"),
}
DESCRIBED = {
    "NAME": "a name",
    "STRING": 'words in "quotes"',
    "DATE": "a date such as 2026-05-14",
    "LEVER": "`stick`, `slider` or `dial`",
    "DIRECTION": "`in` or `out`",
    "ORDER": "`before` or `after`",
    "CABLE_PLACE": "`moving`, `airborne` or `wet`",
    "SWAP": "`exact`, `same-type` or `any`",
    "SEAL": "`sealed` or `unsealed`",
    "_COLOUR": "`colour`",
    "CUT": "`plus` or `ground`",
    "_CHANNELS": "`channels`",
    "_CENTRE": "`centre`",
}
FIXED_WORDS = {  # terminals of several words, or of one that is kept in the tree
    "LEVER": ("stick", "slider", "dial"),
    "DIRECTION": ("in", "out"),
    "ORDER": ("before", "after"),
    "CABLE_PLACE": ("moving", "airborne", "wet"),
    "SWAP": ("exact", "same-type", "any"),
    "SEAL": ("sealed", "unsealed"),
    "_COLOUR": ("colour",),
    "CUT": ("plus", "ground"),
    "_CHANNELS": ("channel", "channels"),
    "_CENTRE": ("centre",),
    "SPRINGS": ("springs",),
    "CRITICAL": ("critical",),
    "REST": ("rest",),
    "STOP": ("stop",),
    "NEUTRAL": ("neutral",),
    "REVERSED": ("reversed",),
    "AUTO": ("auto",),
    "HOLD": ("hold",),
    "NONE": ("none",),
}
LOOKALIKES = {
    "“": '"',
    "”": '"',
    "„": '"',
    "«": '"',
    "»": '"',
    "‘": '"',
    "’": '"',
    "'": '"',
    "–": "-",
    "—": "-",
    "−": "-",
    "×": "x",
    "…": "..",
    "→": "`to`",
    "±": "a range such as -5%..5%",
    "，": ",",
    "；": ";",
    "\u00a0": "a plain space",
}
HOMES = {  # where a statement belongs that stands in another block
    "the block of a unit": "asset serial software case held memory channel mix bound mount mounted unused leave set",
    "the block of a model": "role face stick slider dial switch channels pulse output has trims port setting command carries mass offers reads supplies passes regulates takes draws capacity chemistry cells bays charges",
    "the block of a cable": "length jacket moving airborne wet plugs pin route rides mark spare-leads rated cut fuse",
    "the block of the rig": "job revision crew paper card cards typeface guard labels spare-labels codes temperature day night usable cold spare-packs",
    "the block of a sheet": "page grid cell margin gap offset",
    "a channel": "travel subtrim reverse reversed failsafe aims rate expo slow",
    "the file itself, outside every block": "rig use signal model unit cable expect step open measured sheet hazard note "
    "connector stock-lengths independent",
}
SYNONYMS = {
    "import": "use",
    "include": "use",
    "inverted": "reversed",
    "transmitter": "unit",
    "lead": "cable",
    "weight": "mass",
    "flexing": "moving",
}
FIRST_WORDS = {  # statements beside a form that begins with a name of its own, as legs and bands do
    "DOT": (
        [*HOMES["the block of a cable"].split(), "mass", "case", "wire", "exact", "same-type", "any"],
        "a leg such as `rx.bus to head.remote`",
    ),
    "PERCENT": (("sweeps", "reads", "learns", "without"), "a band such as `run -66%..-38%`"),
}
NAMED = {  # what follows the name that begins a leg or a band, and where those stand
    re.compile(r"[ \t]*\.[ \t]*[A-Za-z]"): "write a leg in the block of a cable",
    re.compile(r"[ \t]+is[ \t]"): "write `unit` before it",
    re.compile(r"[ \t]+[-+−]?\d[\d.]*%"): "write a band in the block of an input of a model",
}
EARLIER = {"slack": "loops", "efficiency": "up to", "empty": "up to"}  # what stands in this order only
LINKS = ("at", "by", "from", "gives", "into", "is", "on", "over", "per", "to")
