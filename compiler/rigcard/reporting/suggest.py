"""Suggests similar names in messages."""

from collections.abc import Iterable

SHORT = 3  # letters of a name that looks like no other


def near(name: str, known: Iterable[str], most: int = 3, cutoff: float = 0.6) -> list[str]:
    """Return up to `most` known names that resemble `name` by at least the ratio `cutoff`, the closest first.

    One that differs in capitals alone is the only one.
    """
    names = set(known)
    if same := sorted(other for other in names if other.lower() == name.lower()):
        return same[:1]
    from difflib import get_close_matches  # imported here so that only a faulty file pays for it

    return get_close_matches(name, sorted(names), n=most, cutoff=cutoff)


def alike(name: str, known: Iterable[str]) -> list[str]:
    """Return the known names of which a name is a part, or the other way round, or that are one letter off if short."""
    names = list(known)
    parts = [other for other in names if name in other.split("-") or other in name.split("-")]
    return (parts or (one_letter_off(name, names) if len(name) <= SHORT else []))[:3]


def one_letter_off(name: str, known: Iterable[str]) -> list[str]:
    """Return the known names of the same length that differ from a short name in one letter, not in a digit."""
    found = []
    for other in known:
        if len(other) == len(name) > 1:
            apart = [pair for pair in zip(name, other, strict=True) if pair[0] != pair[1]]
            if len(apart) == 1 and "".join(apart[0]).isalpha():
                found.append(other)
    return found


def one_of(names: list[str]) -> str:
    """Join names as `a`, `b` or `c`, in backticks."""
    quoted = [f"`{name}`" for name in names]
    return quoted[0] if len(quoted) == 1 else f"{', '.join(quoted[:-1])} or {quoted[-1]}"


def did_you_mean(name: str, known: Iterable[str], otherwise: str) -> str:
    """Return the hint for an unknown name: the similar ones, or else `otherwise`."""
    names = list(known)
    found = near(name, names) or alike(name, names)
    return f"did you mean {one_of(found)}?" if found else otherwise
