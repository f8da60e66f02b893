"""Suggests similar names in messages."""

from collections.abc import Iterable


def near(name: str, known: Iterable[str], most: int = 3) -> list[str]:
    """Return up to `most` known names that resemble `name`, the closest first."""
    from difflib import get_close_matches  # imported here so that only a faulty file pays for it

    return get_close_matches(name, sorted(set(known)), n=most, cutoff=0.6)


def one_of(names: list[str]) -> str:
    """Join names as `a`, `b` or `c`, in backticks."""
    quoted = [f"`{name}`" for name in names]
    return quoted[0] if len(quoted) == 1 else f"{', '.join(quoted[:-1])} or {quoted[-1]}"


def did_you_mean(name: str, known: Iterable[str], otherwise: str) -> str:
    """Return the hint for an unknown name: the similar ones, or else `otherwise`."""
    found = near(name, known)
    return f"did you mean {one_of(found)}?" if found else otherwise
