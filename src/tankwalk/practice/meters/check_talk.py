"""A person who checks a meter: what is asked, one step after another, and what is kept of it.

Drives `meters`; every answer that is a measurement is on the disk when the next step is asked.
"""

from __future__ import annotations

from collections.abc import Mapping

from tankwalk import quantity
from tankwalk.errors import Refusal
from tankwalk.ledger.meters import MarkSeen
from tankwalk.plan.model import Instrument
from tankwalk.practice.meters import meter_checks, moist_air, suspects
from tankwalk.practice.meters.tolerance import against, limits_words, passes, right_value
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple

WHO, READY, TEMPERATURE, PRESSURE, FOUND, AGAIN, LEFT, OVER, LIFT_WHO, LIFT_WHY = (
    "who", "ready", "temperature", "pressure", "found", "again", "left", "over", "lift who",
    "lift why",
)  # fmt: skip

NUMBERS = (TEMPERATURE, PRESSURE, FOUND, AGAIN, LEFT)
"""Steps at which a number is typed, and a unit where one likes."""

LISTS = (WHO, LIFT_WHO, LIFT_WHY)
"""Steps at which one chooses by number."""

LIFT_REASONS = (
    "another meter read the same tanks alike",
    "the check was done wrong: probe or cup not ready",
    "the value of the check was typed wrong",
)
"""Why a mark is taken back."""

# Cautions and steps are in our own words. Common practice, no source.

FIRST = "Read it before you set anything: what it shows as found says how good its readings were."

HOW = (
    (
        "moist air",
        "Probe in the moist cup, no drop on its tip. Wait until temperature and figure stand "
        "still. Where the meter asks for air pressure, enter the barometer of this room, not the "
        "airport's: a weather report's is reduced to sea level.",
    ),
    (
        "buffer",
        "Rinse and blot the probe. Fresh buffer at room temperature, never poured back. Wait "
        "until the figure stands still.",
    ),
    (
        "weight",
        "Scale level and warm, the empty pan at zero. The weight with dry tweezers or gloves, in "
        "the middle of the pan.",
    ),
)
ELSE = "Wait until the figure stands still."
LAST = "Your lab's procedure and the maker's instructions come first."


def how(meter: Instrument) -> str:
    """What to mind before the first step of a check."""
    check = meter.check.casefold()
    words = next((words for word, words in HOW if word in check), ELSE)
    return f"{words} {FIRST} {LAST}"


def _most(meter: Instrument) -> float | None:
    """What a check can show at most: a buffer reads 4.010, and not four thousand."""
    return None if meter.reference is None else 10 * abs(meter.reference)


class Asked(NamedTuple):
    """What is asked now: the question, and the keys that answer it."""

    words: str
    keys: tuple[tuple[str, str], ...] = ()


class Checking:
    """One person at one meter. `said` is the last sentence, `wrong` whether it is bad news."""

    def __init__(self, site: Site, code: str) -> None:
        self.site = site
        self.meter = meter_checks.find(site.plan, code)
        self.step = WHO
        self.who = ""
        self.said = ""
        self.wrong = False
        self._temperature = 0.0
        self._air: moist_air.Air | None = None
        self._first: tuple[float, str] | None = None
        self._mark: MarkSeen | None = None

    @property
    def right(self) -> float:
        """What the meter should show; Refusal where the plan does not say."""
        return right_value(self.meter, None if self._air is None else self._air.mg_l)

    @property
    def unit(self) -> str:
        """The unit of what is typed now."""
        return {TEMPERATURE: "degC", PRESSURE: "mmHg"}.get(self.step, self.meter.check_unit)

    # ---- what is asked

    def asks(self) -> Asked:
        """The question of this step."""
        meter, unit = self.meter, f", {self.unit}" if self.unit else ""
        match self.step:
            case "who":
                return Asked("Who checks it?", self._people())
            case "ready":
                return Asked(how(meter), (("+", "ready"),))
            case "temperature":
                return Asked("Temperature the meter shows in the cup, degC")
            case "pressure":
                no_barometer = ("/", "none here: go by the site's elevation")
                return Asked("Barometer of this room, mmHg (or with its unit)", (no_barometer,))
            case "found":
                return Asked(f"As found, {meter.check}{unit}")
            case "again":
                return Asked(f"As found once more, when it stands still{unit}")
            case "left" if self.wrong:
                return Asked(
                    f"Mended? Then as left{unit}", (("/", "not mended: leave it out of use"),)
                )
            case "left":
                return Asked(f"Was it set? Then as left{unit}", (("Enter", "left as it was"),))
            case "lift who":
                return Asked("Who takes the mark back?", self._people())
            case "lift why":
                return Asked(
                    "Why do its readings count after all?",
                    tuple((str(n), words) for n, words in enumerate(LIFT_REASONS, 1)),
                )
        return Asked("", (("Enter", "to the meters"),))

    def _people(self) -> tuple[tuple[str, str], ...]:
        return tuple((str(n), p.initials) for n, p in enumerate(self.site.people, 1))

    @property
    def digits(self) -> int:
        """Digits of the numbers in the list that is asked from."""
        return len(str(len(self.asks().keys)))

    # ---- what is answered

    def answer(self, typed: str) -> None:
        """Take one answer; a refusal leaves the step as it is, with a sentence."""
        step, typed = self.step, typed.strip()
        try:
            self._take(step, typed)
        except Refusal as refusal:
            self.said = str(refusal)

    def _take(self, step: str, typed: str) -> None:
        if step in LISTS:
            self._choose(step, typed)
        elif step == READY:
            if typed != "+":
                raise Refusal("Read it, then + when the probe is ready.")
            self.said = ""
            self.step = TEMPERATURE if moist_air.needs_air(self.meter) else FOUND
        elif step == TEMPERATURE:
            self._temperature = self._number(typed)
            moist_air.expected_air(self.site, self._temperature)
            self._go(PRESSURE, "")
        elif step == PRESSURE:
            pressure = None if typed == "/" else self._number(typed)
            self._air = moist_air.expected_air(self.site, self._temperature, pressure)
            self._go(FOUND, self._air.sentence)
        elif step == FOUND:
            self._found(self._number(typed), typed)
        elif step == AGAIN:
            self._keep(self._number(typed))
        elif step == LEFT:
            self._left(typed)

    def _go(self, step: str, said: str, *, wrong: bool = False) -> None:
        self.step, self.said, self.wrong = step, said, wrong

    def _choose(self, step: str, typed: str) -> None:
        keys = self.asks().keys
        if not (typed.isascii() and typed.isdecimal() and 1 <= int(typed) <= len(keys)):
            raise Refusal(f"There is no number {typed[:6]} in the list." if typed else "By number.")
        words = keys[int(typed) - 1][1]
        if step == WHO:
            self.who = words
            right_value(self.meter, 0.0 if moist_air.needs_air(self.meter) else None)
            self._go(READY, "")
        elif step == LIFT_WHO and self._mark is not None:
            suspects.refuse_own(self._mark, words)
            self.who = words
            self._go(LIFT_WHY, "")
        elif self._mark is not None:
            suspects.lift(self.site, self.who, self._mark.n, words)
            self._go(OVER, "The mark is taken back: its readings count again. The record has both.")

    def _number(self, typed: str) -> float:
        if not typed:
            raise Refusal("Nothing was typed, and nothing is kept by silence.")
        most = _most(self.meter) if self.unit == self.meter.check_unit else None
        return quantity.read(typed, self.unit, most=most).value

    def _found(self, value: float, typed: str) -> None:
        """A value out of limits is asked again while the probe is in the cup."""
        if passes(self.meter, value, self.right):
            self._keep(value)
            return
        self._first = value, typed
        cup = ", the cup moist" if moist_air.MOIST_AIR in self.meter.check.casefold() else ""
        words = f"{against(self.meter, value, self.right)}. Is it steady{cup}?"
        self._go(AGAIN, f"{words} What you type now is kept.", wrong=True)

    def _keep(self, value: float) -> None:
        told = None
        if self._first is not None and self._first[0] != value:
            told = f"{self.meter.check} (first {self._first[1]})"
        air = None if self._air is None else self._air.mg_l
        done = meter_checks.check(
            self.site, self.who, self.meter.code, value, what=told, reference=air
        )
        self._first = None
        self._go(LEFT, done.sentence, wrong=not done.passed)

    def _left(self, typed: str) -> None:
        if not typed and not self.wrong:
            self._go(OVER, self.said)
            return
        if typed == "/" and self.wrong:
            words = f"Meter {self.meter.code} is out of use until it passes. Take another one."
            self._go(OVER, words, wrong=True)
            return
        air = None if self._air is None else self._air.mg_l
        done = meter_checks.leave(
            self.site, self.who, self.meter.code, self._number(typed), reference=air
        )
        self._go(OVER if done.fit else LEFT, done.sentence, wrong=not done.fit)

    # ---- taking a mark back

    def lift(self, mark: MarkSeen) -> None:
        """Ask who takes a mark back, and why."""
        self._mark = mark
        self._go(LIFT_WHO, "")

    @property
    def limits(self) -> str:
        """What passes, in words; "" where the plan does not say."""
        try:
            return limits_words(self.meter, self.right)
        except Refusal:
            return ""


# ---- all of it in one line


def typed_check(site: Site, code: str, typed: Mapping[str, str | None]) -> meter_checks.Checked:
    """Enter a check from typed words: found, who, and where there is one left, temp, barometer.

    Refusal as `meters.check`, and where a word is missing that the check needs.
    """
    meter = meter_checks.find(site.plan, code)
    found, who = typed.get("found"), typed.get("who")
    if not found or not who:
        raise Refusal(
            f"A check needs what was found and who checked, as in: tankwalk meters {meter.code} "
            "--found 100.2 --who INITIALS. Nothing was kept."
        )

    def number(key: str, unit: str) -> float | None:
        words = typed.get(key)
        most = _most(meter) if unit == meter.check_unit else None
        return None if words is None else quantity.read(words, unit, most=most).value

    reference = None
    if moist_air.needs_air(meter):
        temperature = number("temp", "degC")
        if temperature is None:
            raise Refusal(
                "What air should read in mg/L goes by temperature: add --temp, and --barometer "
                "where there is one in the room. Nothing was kept."
            )
        reference = moist_air.expected_air(site, temperature, number("barometer", "mmHg")).mg_l
    as_found = quantity.read(found, meter.check_unit, most=_most(meter)).value
    left = number("left", meter.check_unit)
    return meter_checks.check(site, who, meter.code, as_found, left, reference=reference)
