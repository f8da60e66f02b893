"""Letter codes for the colours of conductors (IEC 60757). Joined codes follow the order of its table."""

from __future__ import annotations

CODES = {
    "BK": "black",
    "BN": "brown",
    "RD": "red",
    "OG": "orange",
    "YE": "yellow",
    "GN": "green",
    "BU": "blue",
    "VT": "violet",
    "GY": "grey",
    "WH": "white",
    "PK": "pink",
    "GD": "gold",
    "TQ": "turquoise",
    "SR": "silver",
}
EARTH = "GNYE"  # the only join with green or yellow, and the only one out of the table's order
MOST_JOINED = 3


def fault_of(code: str) -> tuple[str, str] | None:
    """The fault of a code in capitals, and the correct spelling; None for a valid code."""
    parts = [code[at : at + 2] for at in range(0, len(code), 2)]
    unknown = [part for part in parts if part not in CODES]
    if unknown or len(parts) > MOST_JOINED:
        listed = ", ".join(CODES)
        return (
            f"`{code}` is no colour code of IEC 60757",
            f"write one of {listed}, {EARTH}, or join two such as RDBU",
        )
    if len(parts) == 1 or code == EARTH:
        return None
    if set(parts) == {"GN", "YE"}:
        return f"green and yellow together are written `{EARTH}`, not `{code}`", f"write {EARTH}"
    if {"GN", "YE"} & set(parts):
        return (
            f"`{code}` joins green or yellow with another colour, and only `{EARTH}` may",
            "read the colour of the core again",
        )
    in_order = sorted(set(parts), key=list(CODES).index)
    if parts != in_order:
        return f"`{code}` is not in the order of IEC 60757", f"write {''.join(in_order)}"
    return None
