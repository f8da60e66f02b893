"""Linear codes: Code 128, code set B (ISO/IEC 15417), as widths of bars and spaces in modules."""

MODULE = 3 * 25.4 / 300  # mm: three dots of a 300 dpi printer, at least 0.25 mm
QUIET = 10  # modules on each side
HEIGHT = 8.0  # mm of bar height
CAPTION = 0.2  # mm from the bars to the text below them
START, STOP = 104, "2331112"
# Widths of the characters 0 to 105: bar, space, bar, space, bar, space; 11 modules each
# (ISO/IEC 15417, table 1).
WIDTHS = [
    "212222",
    "222122",
    "222221",
    "121223",
    "121322",
    "131222",
    "122213",
    "122312",
    "132212",
    "221213",
    "221312",
    "231212",
    "112232",
    "122132",
    "122231",
    "113222",
    "123122",
    "123221",
    "223211",
    "221132",
    "221231",
    "213212",
    "223112",
    "312131",
    "311222",
    "321122",
    "321221",
    "312212",
    "322112",
    "322211",
    "212123",
    "212321",
    "232121",
    "111323",
    "131123",
    "131321",
    "112313",
    "132113",
    "132311",
    "211313",
    "231113",
    "231311",
    "112133",
    "112331",
    "132131",
    "113123",
    "113321",
    "133121",
    "313121",
    "211331",
    "231131",
    "213113",
    "213311",
    "213131",
    "311123",
    "311321",
    "331121",
    "312113",
    "312311",
    "332111",
    "314111",
    "221411",
    "431111",
    "111224",
    "111422",
    "121124",
    "121421",
    "141122",
    "141221",
    "112214",
    "112412",
    "122114",
    "122411",
    "142112",
    "142211",
    "241211",
    "221114",
    "413111",
    "241112",
    "134111",
    "111242",
    "121142",
    "121241",
    "114212",
    "124112",
    "124211",
    "411212",
    "421112",
    "421211",
    "212141",
    "214121",
    "412121",
    "111143",
    "111341",
    "131141",
    "114113",
    "114311",
    "411113",
    "411311",
    "113141",
    "114131",
    "311141",
    "411131",
    "211412",
    "211214",
    "211232",
]


def bar_widths(text: str) -> tuple[int, ...]:
    """Return alternating bars and spaces in modules, a bar first.

    They are the start, the characters from space to tilde, the check character and the stop.
    """
    values = [ord(char) - 32 for char in text]
    check = (START + sum(at * value for at, value in enumerate(values, 1))) % 103
    return tuple(int(width) for value in (START, *values, check) for width in WIDTHS[value]) + tuple(
        int(width) for width in STOP
    )


def linear_length(text: str) -> float:
    """Return the length in mm of the code of a text, quiet zones included.

    That is 11 modules per character, and 55 for start, check, stop and quiet zones.
    """
    return (sum(bar_widths(text)) + 2 * QUIET) * MODULE
