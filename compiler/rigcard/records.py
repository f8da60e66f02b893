"""`typing.NamedTuple`, made at a seventh of the cost.

To mypy it is that class and nothing else. At run time a subclass of it is a tuple with a name for each part, as
there; but what fills in defaults and names is compiled when it is first needed, not when the class is defined
(measured: 11 against 71 us a class). A run that checks a small file spends more time on defining classes than on reading the file.
"""

from operator import itemgetter
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from typing import NamedTuple as NamedTuple
else:
    _PARTS = tuple(property(itemgetter(number)) for number in range(64))

    class _Named(type):
        """Makes the annotations of a class names for the parts of its instances, its values their defaults."""

        def __new__(mcs, name, bases, body):
            fields = tuple(body.get("__annotations__", ()))
            defaults = {field: body[field] for field in fields if field in body}
            body.update(zip(fields, _PARTS, strict=False))
            body.update(_fields=fields, _field_defaults=defaults, __match_args__=fields, __slots__=())
            return type.__new__(mcs, name, bases, body)

    class NamedTuple(tuple, metaclass=_Named):
        """An immutable record; see `typing.NamedTuple`."""

        def __new__(cls, *parts, **named):
            """One part a field. Raises TypeError for another number of them, or another name."""
            if len(parts) == len(cls._fields) and not named:
                return tuple.__new__(cls, parts)
            names = "".join(f"{field}, " for field in cls._fields)
            new = eval(f"lambda _cls, {names}: _tuple(_cls, ({names}))", {"_tuple": tuple.__new__})
            new.__defaults__ = tuple(cls._field_defaults.values())
            cls.__new__ = staticmethod(new)
            return new(cls, *parts, **named)

        def __repr__(self):
            """As it would be written."""
            shown = ", ".join(f"{name}={part!r}" for name, part in self._asdict().items())
            return f"{type(self).__name__}({shown})"

        def __getnewargs__(self):
            """What a copy is made from."""
            return tuple(self)

        @classmethod
        def _make(cls, parts):
            """One from all its parts, in order. Raises TypeError for another number of them."""
            made = tuple.__new__(cls, parts)
            if len(made) != len(cls._fields):
                raise TypeError(f"{cls.__name__} has {len(cls._fields)} parts, not {len(made)}")
            return made

        def _replace(self, **changes):
            """A copy with some parts changed. Raises TypeError for a name that is no field."""
            return type(self)(**{**self._asdict(), **changes})

        def _asdict(self):
            """The parts by their names."""
            return dict(zip(self._fields, self, strict=True))
