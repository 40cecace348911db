"""Parts of plans that several rooms of the tests are put together from."""

from __future__ import annotations

from collections.abc import Callable, Iterable


def head(name: str, elevation: str = "0 m") -> str:
    """A site of two people: AB, and MV, who leads."""
    return f"""
[site]
name = "{name}"
zone = "America/Chicago"
elevation = "{elevation}"
emergency = "MV, 555-0100"

[[person]]
initials = "AB"
[[person]]
initials = "MV"
duty = "lead"
"""


def tanks(codes: Iterable[str], lot: str, loop: Callable[[str], str] = lambda _: "L1") -> str:
    """A table for each tank of a lot; `loop` says on which loop one is."""
    return "".join(
        f'[[tank]]\ncode = "{code}"\nloop = "{loop(code)}"\nvolume = "220 L"\nlot = "{lot}"\n'
        for code in codes
    )


TEMPERATURE = """
[[item]]
code = "temp"
label = "Temperature"
unit = "degC"
plausible = [-1, 35]
instrument = "oxygen meter"
"""
OXYGEN = """
[[item]]
code = "do"
label = "Oxygen"
unit = "mg/L"
plausible = [0, 20]
instrument = "oxygen meter"
"""
LEVEL = """
[[item]]
code = "level"
label = "Water below rim"
unit = "cm"
plausible = [0, 50]
see = ["screen"]
"""
SCREEN = """
[[item]]
code = "screen"
label = "Outlet screen"
kind = "choice"
choices = ["clean", "cleaned", "fouled"]
act_on = ["fouled"]
"""
PH = """
[[item]]
code = "ph"
label = "pH"
decimals = 2
plausible = [4, 10.5]
"""
ALKALINITY = """
[[item]]
code = "alk"
label = "Alkalinity"
level = "loop"
unit = "mg/L as CaCO3"
decimals = 0
plausible = [0, 1000]
"""
TAN = """
[[item]]
code = "tan"
label = "TAN"
level = "loop"
unit = "mg/L as N"
decimals = 2
plausible = [0, 10]
"""
"""What is asked, to which a room adds what is its own: a deadband, a first response."""


def by_chance(oxygen: int, flow: int) -> str:
    """What the rooms drawn by chance ask, with so many decimals of oxygen and of flow."""
    return "".join((
        TEMPERATURE, "decimals = 1\ndeadband = 0.2\n",
        OXYGEN, f"decimals = {oxygen}\ndeadband = 0.3\n",
        'first_response = "Clear the screen, restore flow, open the oxygen."\n',
        PH, 'deadband = 0.05\ninstrument = "pH meter"\n',
        f"""
[[item]]
code = "flow"
label = "Flow"
unit = "L/min"
decimals = {flow}
plausible = [0, 60]
""",
        LEVEL, "decimals = 1\n",
        SCREEN,
        """
[[item]]
code = "morts"
label = "Morts"
kind = "count"
plausible = [0, 5000]
""",
    ))  # fmt: skip


LIVE_AND_RATION = """
[[cysts]]
code = "C7"
per_gram = 200000
hatch = "80 %"
[[ration]]
feed = "Art"
by = "tank"
points = [{dph = 2, amount = 300}, {dph = 40, amount = 300}]
"""
"""Cysts, and so much of their nauplii a day for each tank."""
