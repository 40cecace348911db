"""A person at the Workings: what is sought and typed, what the record gave, and the answer.

The screen turns keys into these acts; the page draws what stands here.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from tankwalk import text
from tankwalk.clock import past
from tankwalk.errors import Refusal
from tankwalk.plan.model import Product, Tank
from tankwalk.practice.site import SITE, Site
from tankwalk.practice.workings import inputs, working_out
from tankwalk.practice.workings.filling import (
    PLAN,
    Source,
    from_plan,
    from_product,
    from_record,
    stale,
)
from tankwalk.practice.workings.keep_talk import KeepTalk
from tankwalk.practice.workings.working_out import Working
from tankwalk.rows import NamedTuple
from tankwalk.science.calculators import ALL
from tankwalk.science.calculators.declare import Calculator, Form, Input

LONGEST = {Form.SERIES: 4000, Form.GROUPS: 4000}
LONGEST_VALUE = 40
"""Characters a field may be typed with; more is no number and no unit."""


class Result(NamedTuple):
    """What the fields come to now: a working, or what is missing, or what is wrong with one."""

    working: Working | None = None
    missing: tuple[Input, ...] = ()
    fault: str = ""
    key: str = ""
    """The field the fault is in, where it is in one."""


class Worksheet:
    """One sitting at the Workings; what is typed stays for the session."""

    def __init__(self, site: Site) -> None:
        self.site = site
        self.sought = ""
        self.at = 0
        self.chosen: Calculator | None = None
        self.field = 0
        self.arrived = False
        """Whether nothing was typed in this field since one came to it."""
        self.places = _places(site)
        self.place = self.places[0]
        self.who = ""
        self.round: int | None = None
        self.said, self.good = "", True
        self.talk: KeepTalk | None = None
        """The talk about keeping the answer, while there is one."""
        self.read = False
        """Whether the caution in front of a dangerous answer was read."""
        self._typed: dict[str, dict[str, str]] = {}
        self._sources: dict[str, dict[str, Source]] = {}

    # ---- the list

    @property
    def _today(self) -> date:
        return self.site.now().day

    @property
    def listed(self) -> list[Calculator]:
        return working_out.found(self.sought)

    @property
    def count(self) -> int:
        """How many calculators there are."""
        return len(ALL)

    def seek(self, letters: str) -> None:
        """Look for calculators by letters of their name or words."""
        self.sought, self.at = letters, 0
        if not letters and self.chosen is not None:
            self.at = self.listed.index(self.chosen)
        self.say("")

    def step(self, lines: int) -> None:
        """Move in the list."""
        self.at = max(0, min(len(self.listed) - 1, self.at + lines))

    def choose(self, name: str = "") -> None:
        """Take a calculator by name, or the one the list stands at."""
        if name:
            self.chosen = working_out.calculator(name)
            if self.chosen not in self.listed:
                self.sought = ""
            self.at = self.listed.index(self.chosen)
        elif not self.listed:
            raise Refusal(f"No calculator has {self.sought!r} in its name: Esc clears it.")
        else:
            self.chosen = self.listed[self.at]
        self.field, self.said, self.talk, self.read = 0, "", None, False
        self._take_only_product()

    def fill(self, typed: Mapping[str, str]) -> None:
        """Set the fields of the chosen calculator to exactly this, and stand at the answer."""
        asked = self._asked()
        for key in typed:
            if asked.input(key) is None:
                raise Refusal(f"{asked.name} takes no {text.clean(key)[:30]!r}.")
        self._typed[asked.name] = {k: text.clean(v) for k, v in typed.items() if v}
        self._sources[asked.name] = {}
        self._take_only_product()
        self.field = len(asked.inputs)

    # ---- the product

    @property
    def products(self) -> tuple[Product, ...]:
        """The products of the plan that the chosen calculator can be of."""
        kind = self._asked().kind
        return tuple(p for p in self.site.plan.products if kind is not None and p.kind is kind)

    def _take_only_product(self) -> None:
        """Where the plan has one product of the kind alone, it is that one unless told."""
        key = self._key_of_product()
        products = self.products
        if key and len(products) == 1 and not self.typed.get(key):
            self.typed[key] = products[0].label
            self.sources[key] = Source(products[0].label, PLAN)
            self._fill_from_product()
        if key and self.typed.get(key):
            self.field = 1

    def _key_of_product(self) -> str:
        """The field a product is named in; "" where there is none."""
        inputs = self._asked().inputs
        return next((i.key for i in inputs if i.of_product == "name"), "")

    def _fill_from_product(self) -> None:
        """What the plan says of the named product, in the fields for it that nobody typed in."""
        name = self.typed.get(self._key_of_product(), "")
        product = next((p for p in self.products if p.label == name), None)
        for one in self._asked().inputs:
            if not one.of_product or one.of_product == "name":
                continue
            source = self.sources.get(one.key)
            if self.typed.get(one.key) and source is None:
                continue
            value = None if product is None else from_product(product, one)
            if value is None:
                self.typed.pop(one.key, None)
                self.sources.pop(one.key, None)
            else:
                self.typed[one.key], self.sources[one.key] = value

    # ---- the fields

    @property
    def inputs(self) -> tuple[Input, ...]:
        """What the chosen calculator asks, with the products of the plan to choose from."""
        labels = tuple(p.label for p in self.products)
        return tuple(
            one._replace(choices=labels) if one.of_product == "name" and labels else one
            for one in self._asked().inputs
        )

    def _asked(self) -> Calculator:
        assert self.chosen is not None
        return self.chosen

    @property
    def input(self) -> Input | None:
        """The input being filled; None at the answer, below the last one."""
        inputs = self.inputs
        return inputs[self.field] if self.field < len(inputs) else None

    @property
    def typed(self) -> dict[str, str]:
        """What is typed or taken in the fields of the chosen calculator, by key."""
        return self._typed.setdefault(self._asked().name, {})

    @property
    def sources(self) -> dict[str, Source]:
        """Where values that were taken come from, by key."""
        return self._sources.setdefault(self._asked().name, {})

    @property
    def entry(self) -> str:
        """What stands in the field being filled."""
        one = self.input
        return "" if one is None else self.typed.get(one.key, "")

    def add(self, words: str) -> None:
        """Type on in the field being filled; what was taken from elsewhere gives way.

        So does what was typed earlier, where one comes back to it with a digit; a unit goes behind.
        """
        one = self.input
        if one is None:
            return
        # A list of counts is typed on; of any other field a new number takes the place of the old.
        anew = self.arrived and words[:1].isdecimal() and one.form not in LONGEST
        self.type(words if anew or one.key in self.sources else self.entry + words)

    def type(self, words: str) -> None:
        """Put words into the field being filled, in place of what stood there."""
        one = self.input
        if one is None:
            return
        if one.choices and words.isdecimal() and 1 <= int(words) <= len(one.choices):
            words = one.choices[int(words) - 1]
        most = LONGEST.get(one.form, LONGEST_VALUE)
        if len(words) > most:
            self.say(f"A field holds at most {most} characters: the rest was not typed.", False)
            return
        self.arrived = False
        self.sources.pop(one.key, None)
        if words:
            self.typed[one.key] = words
        else:
            self.typed.pop(one.key, None)
        if one.of_product == "name":
            self._fill_from_product()
        self.say("")

    def move(self, fields: int) -> None:
        """On or back so many fields; the answer stands below the last one."""
        self.field = (self.field + fields) % (len(self._asked().inputs) + 1)
        self.arrived = True
        self.say("")

    def turn(self, way: int) -> None:
        """The next or previous word of a choice; in an empty field, the next or previous place."""
        one = self.input
        if one is not None and one.choices:
            now = self.entry or one.default
            at = next((i for i, c in enumerate(one.choices) if c == now), -1 if way > 0 else 0)
            self.type(one.choices[(at + way) % len(one.choices)])
        elif not self.entry:
            self.go(way)

    # ---- the place

    def go(self, way: int = 1) -> None:
        """To the next or previous tank, loop or site; what was taken elsewhere is let go."""
        at = self.places.index(self.place)
        self.go_to(self.places[(at + way) % len(self.places)])
        words = "the site" if self.place == SITE else self.place
        self.say(f"At {words} now: * takes its readings.")

    def go_to(self, place: str) -> None:
        """Work for another place."""
        if place not in self.places:
            raise Refusal(f"The plan has no tank or loop {text.clean(place)[:20]!r}.")
        if place != self.place:
            self.place = place
            for name, sources in self._sources.items():
                for key in [k for k, source in sources.items() if source.place != PLAN]:
                    self._typed.get(name, {}).pop(key, None)
                    sources.pop(key)

    @property
    def tank(self) -> Tank | None:
        """The tank worked for, where the place is one."""
        return self.site.plan.find_tank(self.place)

    def take(self) -> None:
        """Fill every field that is not typed from the newest readings and the plan."""
        got: list[str] = []
        missed: list[str] = []
        askable = False
        for one in self._asked().inputs:
            typed = self.typed.get(one.key) and one.key not in self.sources
            if typed or not (one.item or one.fact):
                continue
            askable = True
            try:
                fill = from_record if one.item else from_plan
                value = fill(self.site, self.place, one)
            except Refusal as refusal:
                missed.append(str(refusal))
                self.typed.pop(one.key, None)
                self.sources.pop(one.key, None)
                continue
            if value is not None:
                self.typed[one.key], self.sources[one.key] = value
                got.append(value[1].label)
        if not askable:
            self.say("Nothing here comes from the record: type it.")
            return
        if self.entry:
            self._to_open()
        taken = f"Taken: {', '.join(got)}." if got else ""
        said = " ".join([taken, *missed]).strip()
        self.say(
            said or "Nothing of this is in the record here: type it.", not missed and bool(got)
        )

    def _to_open(self) -> None:
        """Stand at the first field that has to be typed still; where none has, stay."""
        missing = {one.key for one in self.result().missing}
        still = (nth for nth, one in enumerate(self.inputs) if one.key in missing)
        self.field = next(still, self.field)

    def source_words(self, key: str) -> str:
        """Where a value comes from and how old it is: "L1, 25 min old"; "" for a typed one."""
        source = self.sources.get(key)
        if source is None:
            return ""
        if source.at is None:
            return "by best estimate" if source.label == "best estimate" else "by the plan"
        return f"{source.place}, {past(self.site.now().hours_since(source.at), 'old')}"

    # ---- the answer

    def result(self) -> Result:
        """What the fields come to as they stand."""
        asked, now, oldest = self._asked(), self.site.now(), self.site.plan.parts_age_hours
        missing = []
        for one in asked.inputs:
            try:
                inputs.read_input(one, self.typed.get(one.key, ""), self._today)
            except Refusal as refusal:
                if self.typed.get(one.key):
                    return Result(fault=str(refusal), key=one.key)
                missing.append(one)
        for key, source in self.sources.items():
            if source.at is not None and abs(now.hours_since(source.at)) > oldest:
                return Result(fault=stale(source.label, source.at, now), key=key)
        if missing:
            return Result(missing=tuple(missing))
        try:
            return Result(working_out.work(asked.name, self.typed, self._today))
        except Refusal as refusal:
            return Result(fault=str(refusal))

    @property
    def hidden(self) -> bool:
        """Whether the answer waits for a key that says that its caution was read."""
        done = self.result().working
        return done is not None and done.dangerous and not self.read

    # ---- keeping it

    def record(self) -> None:
        """Say that the caution was read; or, after that, ask as what the answer is to be kept."""
        done = self.result()
        if done.working is None:
            said = (
                done.fault
                or f"Still to type: {', '.join(i.words.partition(',')[0] for i in done.missing)}."
            )
            raise Refusal(f"There is no answer to keep yet. {said}")
        self.said = ""
        if done.working.dangerous and not self.read:
            self.read = True
            return
        self.talk = KeepTalk(self.site, done.working, self.place, self.who, self.round)

    def answer(self, typed: str) -> None:
        """Answer the question that stands: a number of the list, words, or the dose again."""
        if self.talk is None:
            return
        try:
            kept = self.talk.answer(typed)
        except Refusal as refusal:
            self.say(str(refusal), False)
            return
        finally:
            self.who = self.talk.who
        self.said = ""
        if kept:
            self.back()
            self.say(kept)

    def back(self) -> bool:
        """Leave the question that stands; False where there is none."""
        asked, self.talk = self.talk is not None, None
        self.say("")
        return asked

    def arrive(self, who: str, number: int | None) -> None:
        """Somebody sits down: the person of the walk, or somebody not known yet."""
        self.who, self.round = who, number
        self.back()

    def say(self, sentence: str, good: bool = True) -> None:
        """Show one sentence."""
        self.said, self.good = sentence, good


def _places(site: Site) -> list[str]:
    """Loops first, as their water is shared; then tanks, then the site."""
    plan = site.plan
    return [*(x.code for x in plan.loops), *(t.code for t in plan.tanks), SITE]
