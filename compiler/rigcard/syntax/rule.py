"""What every statement of `tree.py` is: an immutable row of parts with a name for each.

A named tuple in all but one thing: to define it costs a seventh (measured: 8 against 59 us), and a run that checks a
small file spends more time on defining the classes of the language than on reading the file.
"""

from operator import itemgetter
from typing import Any


class _Named(type):
    """Makes the annotations of a class names for the parts of its instances."""

    def __new__(mcs, name: str, bases: tuple[type, ...], body: dict[str, Any]) -> "_Named":
        fields = tuple(body.get("__annotations__", ()))
        body |= {field: property(itemgetter(number)) for number, field in enumerate(fields)}
        return super().__new__(mcs, name, bases, {**body, "_fields": fields, "__slots__": ()})


class Rule(tuple[Any, ...], metaclass=_Named):
    """A statement as written; its class names its parts, in the order of the grammar rule of the same name."""

    _fields: tuple[str, ...]

    def __new__(cls, *parts: Any) -> "Rule":
        """One part a field. Raises TypeError for another number of them."""
        if len(parts) != len(cls._fields):
            raise TypeError(f"{cls.__name__} has {len(cls._fields)} parts, not {len(parts)}")
        return tuple.__new__(cls, parts)
