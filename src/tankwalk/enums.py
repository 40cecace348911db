"""Enumerations as `enum` has them, made at a tenth of the time: a start makes some forty.

A member is written `NAME = "value"`; what is called or worked out is written as in any class. To a
type checker these are `enum.Enum` and `enum.StrEnum` themselves. One whose members are numbers, of
which there is one, is still an `enum.IntEnum`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from enum import Enum as Enum
    from enum import StrEnum as StrEnum
else:

    class _Made(type):
        """Makes the members of a class, one for each value, in the order in which they stand."""

        def __new__(cls, name, bases, said):
            named = {
                key: value
                for key, value in said.items()
                if not key.startswith("_") and not hasattr(value, "__get__")
            }
            kept = {key: value for key, value in said.items() if key not in named}
            made = super().__new__(cls, name, bases, kept)
            made._members = members = {}
            for key, value in named.items():
                if value in members:
                    raise TypeError(f"{name}: {key} has the value of {members[value].name}")
                one = str.__new__(made, value) if issubclass(made, str) else object.__new__(made)
                one.name, one.value = key, value
                members[value] = one
                setattr(made, key, one)
            return made

        def __call__(cls, value):
            if isinstance(value, cls):
                return value
            try:
                return cls._members[value]
            except (KeyError, TypeError):
                raise ValueError(f"{value!r} is not a valid {cls.__qualname__}") from None

        def __iter__(cls):
            return iter(cls._members.values())

        def __len__(cls):
            return len(cls._members)

        def __getitem__(cls, name):
            for one in cls:
                if one.name == name:
                    return one
            raise KeyError(name)

        def __contains__(cls, one):
            return isinstance(one, cls) or one in cls._members

    class Enum(metaclass=_Made):
        """The base of enumerations whose members are themselves alone."""

        def __repr__(self):
            return f"<{type(self).__name__}.{self.name}: {self.value!r}>"

        def __str__(self):
            return f"{type(self).__name__}.{self.name}"

        def __reduce_ex__(self, _):
            return type(self), (self.value,)

    class StrEnum(str, Enum):
        """The base of enumerations whose members are words."""

        __repr__ = Enum.__repr__
        __str__ = str.__str__
        __format__ = str.__format__
