"""The code of an asset: what a scanner reads, with its check character, and the size of its squares."""

ALPHABET = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
MODULE = 5 * 25.4 / 300  # mm: five dots of a 300 dpi printer, at least 0.4 mm
QUIET = 4  # modules (ISO/IEC 18004)
CAPACITY = ((1, 20), (2, 38))  # version, capitals and digits at medium correction (ISO/IEC 18004)


def asset_code(asset: str) -> str:
    """Return the text in the code of an asset: upper case with a check character.

    Returns "" if the asset has other characters. The text is longer by the check character only: letters beyond
    ASCII, which can become several capitals, are refused.
    """
    text = asset.upper() if asset.isascii() else ""
    plain = "".join(char for char in text if char in ALPHABET)
    return f"{text}-{check_character(plain)}" if plain and set(text) <= set(f"{ALPHABET} -./") else ""


def check_character(text: str) -> str:
    """Return the check character of ISO/IEC 7064 MOD 37,36 over digits and capitals.

    It detects one wrong character and two swapped ones.
    """
    product = 36
    for char in text:
        total = (product + ALPHABET.index(char)) % 36 or 36
        product = total * 2 % 37
    return ALPHABET[(37 - product) % 36]


def code_size(text: str) -> tuple[int, float]:
    """Return version and side in mm of the smallest matrix code for a text.

    The side includes the quiet zone; the correction is medium.
    """
    version = next(version for version, most in CAPACITY if len(text) <= most)
    return version, (17 + 4 * version + 2 * QUIET) * MODULE
