"""Named tuples as `typing` has them, made at a fifth of the time: a start makes a hundred and more.

`typing` compiles every annotation of a named tuple when the class is made, and `collections` a
constructor of its own for each. Here an annotation stays the word it was written as, and rows with
as many fields have one compiled constructor, which each takes under the names of its own fields. To
a type checker it is `typing.NamedTuple` itself; a generic one still takes that.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from typing import NamedTuple as NamedTuple
else:
    from collections import namedtuple
    from functools import cache
    from types import FunctionType

    _Field = type(namedtuple("One", "field").field)  # what reads a field, in C
    _new = tuple.__new__
    _PARTS = {"_new": _new, "__builtins__": {}}

    @cache
    def _field(nth):
        return _Field(nth, f"Alias for field number {nth}")

    @cache
    def _code(many):
        """The code of a constructor of so many fields, under names that stand in for theirs."""
        names = "".join(f"_{nth}, " for nth in range(many))
        return eval(f"lambda _cls, {names}: _new(_cls, ({names}))", dict(_PARTS)).__code__

    class _Row(tuple):
        """What all rows can do, as `collections.namedtuple` has it for each."""

        __slots__ = ()

        @classmethod
        def _make(cls, values):
            made = _new(cls, values)
            if len(made) != len(cls._fields):
                raise TypeError(f"Expected {len(cls._fields)} arguments, got {len(made)}")
            return made

        def _replace(self, /, **values):
            made = _new(type(self), map(values.pop, self._fields, self))
            if values:
                raise ValueError(f"Got unexpected field names: {list(values)!r}")
            return made

        def _asdict(self):
            return dict(zip(self._fields, self, strict=True))

        def __repr__(self):
            said = ", ".join(f"{name}={one!r}" for name, one in self._asdict().items())
            return f"{type(self).__name__}({said})"

        def __getnewargs__(self):
            return tuple(self)

    class _Made(type):
        def __new__(cls, name, bases, said):
            if not bases:  # the base below, of which there is none to make
                return super().__new__(cls, name, bases, said)
            annotations = said.setdefault("__annotations__", {})
            fields = tuple(annotations)
            defaults = {field: said[field] for field in fields if field in said}
            # As in a function, and defaults are given to the last fields, whichever they are.
            if fields[len(fields) - len(defaults) :] != tuple(defaults):
                raise TypeError(f"{name}: a field without a default follows one that has one")
            made = _code(len(fields)).replace(co_varnames=("_cls", *fields))
            said["__new__"] = FunctionType(made, _PARTS, "__new__", tuple(defaults.values()))
            said |= {field: _field(nth) for nth, field in enumerate(fields)}
            said |= {"__slots__": (), "__match_args__": fields}
            said |= {"_fields": fields, "_field_defaults": defaults}
            return type(name, (_Row,), said)

    class NamedTuple(metaclass=_Made):
        """The base of a named tuple; none is ever made of it."""
