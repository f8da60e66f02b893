"""The named tuples of the compiler against those of Python's standard library, which they stand for."""

import copy
import typing
from typing import Any

import pytest

from rigcard.records import NamedTuple


class Ours(NamedTuple):
    """A record."""

    name: str
    size: int = 3
    parts: tuple[int, ...] = ()

    @property
    def twice(self) -> int:
        """Twice the size."""
        return self.size * 2


class Theirs(typing.NamedTuple):
    """A record."""

    name: str
    size: int = 3
    parts: tuple[int, ...] = ()

    @property
    def twice(self) -> int:
        """Twice the size."""
        return self.size * 2


class Bare(NamedTuple):
    """No parts."""


GOOD: list[tuple[tuple[Any, ...], dict[str, Any]]] = [
    (("a",), {}),
    (("a", 1, (2,)), {}),
    (("a",), {"parts": (1, 2)}),
    ((), {"size": 0, "name": "b"}),
]
BAD: list[tuple[tuple[Any, ...], dict[str, Any]]] = [
    ((), {}),
    (("a", 1, (), 4), {}),
    (("a",), {"name": "b"}),
    (("a",), {"colour": 1}),
]


@pytest.mark.parametrize(("parts", "named"), GOOD)
def test_a_record_is_what_the_standard_library_makes(parts: tuple[Any, ...], named: dict[str, Any]) -> None:
    ours, theirs = Ours(*parts, **named), Theirs(*parts, **named)

    assert ours == theirs and hash(ours) == hash(theirs) and isinstance(ours, tuple)
    assert (ours.name, ours.size, ours.parts, ours.twice) == (
        theirs.name,
        theirs.size,
        theirs.parts,
        theirs.twice,
    )
    assert ours._asdict() == theirs._asdict()
    assert ours._replace(size=9) == theirs._replace(size=9)
    assert repr(ours) == repr(theirs).replace("Theirs", "Ours")
    assert Ours._make(ours) == Theirs._make(theirs) and type(Ours._make(ours)) is Ours
    assert copy.deepcopy(ours) == ours and type(copy.copy(ours)) is Ours
    assert (Ours._fields, Ours._field_defaults, Ours.__match_args__) == (
        Theirs._fields,
        Theirs._field_defaults,
        Theirs.__match_args__,
    )


@pytest.mark.parametrize(("parts", "named"), BAD)
def test_wrong_parts_are_refused(parts: tuple[Any, ...], named: dict[str, Any]) -> None:
    for kind in (Ours, Theirs):
        with pytest.raises(TypeError):
            kind(*parts, **named)
        with pytest.raises(TypeError):
            kind._make(("a", 1))
    for record in (Ours("a"), Theirs("a")):
        with pytest.raises((TypeError, ValueError)):
            record._replace(**named, colour=2)
        with pytest.raises(AttributeError):
            record.name = "b"  # type: ignore[misc]
        with pytest.raises(AttributeError):
            record.colour = "b"  # type: ignore[attr-defined]


def test_a_record_without_parts() -> None:
    assert Bare() == () and Bare._fields == ()
    with pytest.raises(TypeError):
        Bare(1)  # type: ignore[call-arg]
