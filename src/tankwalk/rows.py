"""Named tuples as `typing` has them, without the time and memory that their annotations take.

`typing` compiles every annotation of a named tuple when the class is made, and keeps the code: a
start makes more than a hundred, of six fields each. Here an annotation stays the word it was
written as. To a type checker it is `typing.NamedTuple` itself; a generic one still takes that.
"""

from __future__ import annotations

from collections import namedtuple
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from typing import NamedTuple as NamedTuple
else:

    class _Made(type):
        def __new__(cls, name, bases, said):
            if not bases:  # the base below, of which there is none to make
                return super().__new__(cls, name, bases, said)
            fields = said.get("__annotations__", {})
            defaults = [said[field] for field in fields if field in said]
            # As in a function, and namedtuple would give them to the last fields silently.
            if any(field not in said for field in list(fields)[len(fields) - len(defaults) :]):
                raise TypeError(f"{name}: a field without a default follows one that has one")
            made = namedtuple(name, fields, defaults=defaults, module=said["__module__"])
            made.__annotations__ = fields
            for key, value in said.items():
                if key not in fields and key not in ("__module__", "__annotations__"):
                    setattr(made, key, value)
            return made

    class NamedTuple(metaclass=_Made):
        """The base of a named tuple; none is ever made of it."""
