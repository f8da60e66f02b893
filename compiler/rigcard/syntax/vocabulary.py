"""What messages call the words, numbers and signs of the language, and common mistakes for them."""

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
UNITS = (
    "%",
    "us",
    "mm",
    "cm",
    "m",
    "kg",
    "g",
    "baud",
    "V",
    "A",
    "mA",
    "Ah",
    "mAh",
    "Wh",
    "W",
    "C",
    "mm2",
    "mm²",
    "s",
    "ms",
    "min",
    "h",
    "deg",
    "deg/s",
)
DESCRIBED = {
    "NAME": "a name",
    "STRING": 'words in "quotes"',
    "DATE": "a date such as 2026-05-14",
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
SYNONYMS = {
    "import": "use",
    "include": "use",
    "inverted": "reversed",
    "transmitter": "unit",
    "lead": "cable",
    "weight": "mass",
    "flexing": "moving",
}
FIRST_NAMES = {  # by the token after a name that begins a statement: where that name stands, and what it is
    "DOT": ("cable", "a leg such as `rx.bus to head.remote`"),
    "PERCENT": ("input", "a band such as `run -66%..-38%`"),
}
NAMED = {  # the token after the name of a leg or a band, and where those stand
    re.compile(r"[ \t]*\.[ \t]*[A-Za-z]"): "write a leg in the block of a cable",
    re.compile(r"[ \t]+is[ \t]"): "write `unit` before it",
    re.compile(r"[ \t]+[-+−]?\d[\d.]*%"): "write a band in the block of an input of a model",
}
EARLIER = {"slack": "loops", "efficiency": "up to", "empty": "up to"}  # options that must stand before others
LINKS = ("at", "by", "from", "gives", "into", "is", "on", "over", "per", "to")
