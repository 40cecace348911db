"""A person at a guided procedure: what is asked before it, and each step kept as it is done."""

from __future__ import annotations

from collections.abc import Generator

from tankwalk import text
from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.ledger.entries import Batch, BatchOf, Entry
from tankwalk.ledger.feeding import BatchEvent, BatchKind
from tankwalk.practice.dialog import Answer, Hand, Step, Talk, writer
from tankwalk.practice.livefeed import asking, guided, on_hand
from tankwalk.practice.livefeed.guided import (
    COLORS,
    ENDS,
    Danger,
    Guide,
    Mark,
    Mix,
    Procedure,
    Stage,
)
from tankwalk.practice.livefeed.timers import BACK_HOURS
from tankwalk.practice.site import SITE, Site
from tankwalk.rows import NamedTuple

WHICH = ((Procedure.SHELL, "shells off cysts"), (Procedure.GEAR, "disinfect nets and sieves"))
"""What is guided, in words."""

NAMES = {"decapsulate": Procedure.SHELL, "disinfect": Procedure.GEAR}
"""What begins a new one, by its name on the command line."""

COLDEST, HOTTEST = -5.0, 100.0
"""A bath has some such temperature, in degC."""

COLOR_WORDS = ("brown", "gray", "orange: nearly all shells are gone")
PLACE_WORDS = ("into a cone now", "cold, in sea water", "cold, in brine")
TEST_WORDS = ("none found", "chlorine found")
WHY_GIVEN_UP = ("too hot", "too long in the bath", "spilled", "begun by mistake")


class GuideView(NamedTuple):
    """All a page shows of a procedure; `guide` is None before it is begun."""

    procedure: Procedure
    guide: Guide | None
    mix: Mix | None
    now: Instant
    sop: str
    warn: float = 0.0
    stop: float = 0.0
    start: float = 0.0
    longest: float = 0.0
    neutralizer: float = 0.0
    chlorine: float = 0.0
    bath: guided.Bath | None = None
    tested_days: int = 0
    said: str = ""


def under_way(site: Site) -> list[Guide]:
    """Procedures that are not over, newest first."""
    events = site.reader.feeding.batches(site.now().utc - BACK_HOURS * 3600)
    found = [one for one in guided.guides(events) if one.stage is not Stage.OVER]
    return sorted(found, key=lambda one: -one.begun.utc)


def which(site: Site) -> Generator[Step, Answer, GuidedSitting]:
    """Ask which procedure: one under way, or a new one; Refusal where the plan cannot begin it."""
    going = under_way(site)
    words = [f"go on: {one.batch}, begun {one.begun.hm()} by {one.who}" for one in going]
    answer = yield Step("What is done?", (*words, *(named for _, named in WHICH)))
    if answer.number <= len(going):
        one = going[answer.number - 1]
        return GuidedSitting(site, one.procedure, one.batch)
    sitting = GuidedSitting(site, WHICH[answer.number - len(going) - 1][0])
    sitting.check()
    return sitting


class GuidedSitting:
    """One procedure as one person has it in hand; every act is on the disk before it returns."""

    def __init__(self, site: Site, procedure: Procedure, batch: str = "") -> None:
        self.site, self.procedure, self.batch = site, procedure, batch
        self.guide: Guide | None = None
        self.reload()

    def reload(self) -> None:
        """Read where it stands."""
        if self.batch:
            found = guided.guides(self.site.reader.feeding.batch(self.batch))
            self.guide = found[-1] if found else None

    def view(self) -> GuideView:
        """What the page shows."""
        plan, now, guide = self.site.plan, self.site.now(), self.guide
        if self.procedure is Procedure.GEAR:
            gear = guided.gear_of(plan)
            mix = None if guide is None else guided.gear_mix(plan, guide.amount, now)
            view = GuideView(self.procedure, guide, mix, now, gear.sop, longest=gear.minutes,
                             neutralizer=gear.neutralizer, chlorine=gear.chlorine)  # fmt: skip
        else:
            recipe = guided.recipe_of(plan)
            mix = None if guide is None else guided.shell_mix(plan, guide.amount, now)
            view = GuideView(self.procedure, guide, mix, now, recipe.sop, recipe.warn, recipe.stop,
                             recipe.start, recipe.minutes, recipe.neutralizer,
                             recipe.chlorine)  # fmt: skip
            if guide is not None and guide.stage is Stage.BATH:
                view = view._replace(bath=guided.bath(guide, recipe, now))
        days = 0 if mix is None else guided.tested_days(mix.product, now)
        return view._replace(tested_days=days)

    def check(self) -> None:
        """Refusal where the plan has no recipe, or no bleach whose strength was tested."""
        plan, now = self.site.plan, self.site.now()
        if self.procedure is Procedure.GEAR:
            guided.bleach_of(plan, guided.gear_of(plan).bleach, now)
        else:
            guided.bleach_of(plan, guided.recipe_of(plan).bleach, now)

    # ---- before it is begun

    def begin(self, hand: Hand) -> Talk:
        """Ask of what and how much, then begin."""
        if self.procedure is Procedure.GEAR:
            return (yield from self._begin_gear(hand))
        lot, source = yield from self._cysts()
        told = ""
        while True:
            grams = yield from asking.wanted(asking.number("Dry cysts", "g", 0.1, 2000, told=told))
            try:
                mix = guided.shell_mix(self.site.plan, grams, self.site.now())
                break
            except Refusal as refusal:
                told = str(refusal)
        recipe = guided.recipe_of(self.site.plan)
        days = guided.tested_days(mix.product, self.site.now())
        doubt = ""
        if days > guided.TESTED_DAYS:
            doubt = f"{mix.product.label} was tested {days} days ago: test it again before."
        answer = yield Step(
            f"{grams:g} g of {lot}: {mix.bleach:.0f} mL of {mix.product.label}, "
            f"{mix.caustic:.1f} g of caustic, water to {mix.whole:.0f} mL. Recipes in print use "
            f"{guided.PRINTED_LEAST:.2f} to {guided.PRINTED_MOST:.2f} g of chlorine for a gram; "
            f"yours {recipe.chlorine:.2f}. Is it what your SOP says?",
            ("no, stop here", "yes: put the cysts in water now"),
            told=doubt,
        )
        if answer.number == 1:
            return "Nothing was begun."
        who = yield from writer(self.site, hand, "Who does it?")
        self.batch = self._name("S")
        due = self.site.now().utc + round(recipe.hydrate * 60)
        self._step(who, Mark.HYDRATING, source or "", lot=lot, grams=grams, due_at=due)
        return f"{self.batch} begun: write it on the tape."

    def _begin_gear(self, hand: Hand) -> Talk:
        what = yield Step(
            "What is disinfected?", ("nets", "sieves", "nets and sieves"), "something else",
            writes=True,
        )  # fmt: skip
        words = what.words if what.number else text.clean(what.words, limit=40)
        liters = yield from asking.wanted(asking.number("Liters of the bath", "L", 0.1, 2000))
        guided.gear_mix(self.site.plan, liters, self.site.now())
        who = yield from writer(self.site, hand, "Who does it?")
        self.batch = self._name("G")
        self._step(who, Mark.GEAR_BEGUN, words.replace("; ", ", "), litres=liters)
        return f"{self.batch} begun."

    def _cysts(self) -> Generator[Step, Answer, tuple[str, str | None]]:
        """The lot of cysts, and the tin they come from where tins are entered."""
        now = self.site.now()
        tins = [
            (tin.name, tin.of)
            for one in on_hand.on_hand(self.site, now, {})
            if one.kind is BatchKind.CYSTS
            for tin in one.tins
            if tin.opened is not None
        ]
        known = {of for _, of in tins}
        lots = [(one.code, one.code) for one in self.site.plan.cysts if one.code not in known]
        found = [*tins, *lots]
        answer = yield Step(
            "Cysts of:", tuple(name if name == of else f"{name} of {of}" for name, of in found),
            "another lot", writes=True,
        )  # fmt: skip
        if answer.number:
            name, of = found[answer.number - 1]
            return of, name
        return text.clean(answer.words, limit=20), None

    def _name(self, letter: str) -> str:
        """A name for a tape label that no other batch has."""
        base = f"{letter}{self.site.now().wall:%m%d}"
        taken = self.site.reader.feeding.batch
        return next(
            name for name in (base, *(f"{base}{c}" for c in "bcdefghijkmnpqrst")) if not taken(name)
        )

    # ---- steps

    def _step(
        self,
        who: str,
        mark: Mark,
        words: str = "",
        *,
        lot: str | None = None,
        grams: float | None = None,
        litres: float | None = None,
        temperature: float | None = None,
        due_at: int | None = None,
    ) -> None:
        """Keep one step, and read where that leads."""
        now = self.site.now()
        said = f"{mark.value}; {words}" if words else mark.value
        kept = Batch(self.batch, BatchEvent.STEP, lot, grams, litres, temperature, due_at=due_at,
                     text=said)  # fmt: skip
        self.site.record(Entry("batch", self.site.signs(who), now, now, SITE), kept)
        self.reload()

    @property
    def _here(self) -> Guide:
        if self.guide is None:
            raise Refusal("Nothing is begun yet.")
        return self.guide

    def heat(self, value: float) -> None:
        """Keep a temperature of the bath, in degC; a bath that is cold enough is ready for cysts.

        Refusal for what no bath has, and where none is wanted.
        """
        guide = self._here
        if not COLDEST <= value <= HOTTEST:
            raise Refusal(
                f"{value:g} degC is no temperature of a bath: {COLDEST:g} to {HOTTEST:g}."
            )
        if self.procedure is not Procedure.SHELL or guide.stage not in (
            Stage.CHILL, Stage.READY, Stage.BATH, Stage.RINSE
        ):  # fmt: skip
            raise Refusal("No temperature is asked here.")
        cold = value <= guided.recipe_of(self.site.plan).start
        if guide.stage is Stage.CHILL and cold:
            self._step(guide.who, Mark.CHILLED, temperature=value)
        else:
            self._step(guide.who, Mark.TEMPERATURE, temperature=value)

    def on(self) -> Talk:
        """The step that stands is done: what it still asks, then it is kept."""
        guide, plan = self._here, self.site.plan
        match guide.stage:
            case Stage.HYDRATE:
                return (yield from self._round(guide))
            case Stage.READ:
                return (yield from self._read(guide))
            case Stage.CHILL:
                start = guided.recipe_of(plan).start
                raise Refusal(f"Type the temperature of the bath first: {start:g} degC or less.")
            case Stage.READY:
                if self.procedure is Procedure.SHELL:
                    minutes, mark = guided.recipe_of(plan).minutes, Mark.IN_BATH
                else:
                    minutes, mark = guided.gear_of(plan).minutes, Mark.GEAR_IN
                due = self.site.now().utc + round(minutes * 60)
                self._step(guide.who, mark, due_at=due)
                return ""
            case Stage.BATH:
                return (yield from self._stop(guide))
            case Stage.RINSE:
                self._step(guide.who, Mark.RINSED)
                return "Rinsed until no smell."
            case Stage.NEUTRALIZE:
                self._step(guide.who, Mark.NEUTRALIZED)
                return "Neutralized. Now the test kit: a nose is no test."
            case Stage.TEST:
                return (yield from self._test(guide))
            case Stage.PLACE:
                return (yield from self._place(guide))
            case Stage.OVER:
                return "It is over."

    def _round(self, guide: Guide) -> Talk:
        due = guide.due
        short = due is not None and self.site.now().utc < due.utc
        ask = "Are the cysts round under the scope?"
        if short and due is not None:
            ask = f"The SOP has them in water until {due.hm()}. {ask}"
        answer = yield Step(ask, ("not yet", "all round"))
        if answer.number == 1:
            return "They stay in water: no longer than 2 h."
        self._step(guide.who, Mark.ROUND)
        return ""

    def _read(self, guide: Guide) -> Talk:
        """The caution was read; for caustic bleach a second person is named."""
        if self.procedure is Procedure.GEAR:
            self._step(guide.who, Mark.READ)
            return ""
        others = tuple(p.initials for p in self.site.people if p.initials != guide.who)
        answer = yield Step("Who is within earshot? Never alone with this.", others)
        self._step(guide.who, Mark.READ, answer.words)
        return ""

    def _stop(self, guide: Guide) -> Talk:
        """Out of the bath; gear that comes out before its time is asked about."""
        now = self.site.now()
        if self.procedure is Procedure.GEAR and guide.due is not None and now.utc < guide.due.utc:
            answer = yield Step(
                f"The bath lasts until {guide.due.hm()}: what is out early is not disinfected.",
                ("leave it in", "out all the same"),
            )
            if answer.number == 1:
                return ""
        self._step(guide.who, Mark.STOPPED)
        return ""

    def _test(self, guide: Guide) -> Talk:
        """The kit decides: what still has chlorine goes back to rinsing."""
        answer = yield Step("What does the chlorine kit show in the last rinse?", TEST_WORDS)
        if answer.number == 1:
            self._step(guide.who, Mark.CLEAN)
            return ""
        self._step(guide.who, Mark.FOUND)
        return "Nothing goes on with chlorine in it: rinse and neutralize once more."

    def _place(self, guide: Guide) -> Talk:
        """Where it goes; shelled cysts are a batch of their own from here on."""
        if self.procedure is Procedure.GEAR:
            self._step(guide.who, Mark.HUNG)
            return f"{guide.batch} hung to dry: it is done."
        answer = yield Step("Rinsed once more. Where do they go?", PLACE_WORDS)
        mark = (Mark.TO_HATCH, Mark.IN_COLD, Mark.IN_BRINE)[answer.number - 1]
        recipe, now = guided.recipe_of(self.site.plan), self.site.now()
        days = (1.0, recipe.cold_days, recipe.brine_days)[answer.number - 1]
        use_by = Instant(now.utc + round(days * 86400), now.offset)
        brine = guided.BRINE_G_KG if mark is Mark.IN_BRINE else None
        made = Batch(guide.batch, BatchEvent.SET, guide.lot, guide.amount, salinity=brine,
                     due_at=use_by.utc, text=mark.value)  # fmt: skip
        with self.site.ledger.writing():
            self._step(guide.who, mark)
            entry = Entry("batch", self.site.signs(guide.who), now, now, SITE)
            source = guide.source or guide.lot
            self.site.record(entry, made, BatchOf(BatchKind.SHELLED, source))
        self.reload()
        if mark is Mark.TO_HATCH:
            return f"{guide.batch} is shelled: set it in a cone now (7 live feed)."
        return f"{guide.batch} is shelled, use by {use_by.short()[:-6]}: write that on the tape."

    def color(self) -> Talk:
        """How the cysts look, by number."""
        guide = self._here
        if guide.stage is not Stage.BATH or self.procedure is not Procedure.SHELL:
            raise Refusal("Colors are looked at in the bath.")
        answer = yield Step("What color are the cysts?", COLOR_WORDS)
        self._step(guide.who, COLORS[answer.number - 1])
        return ""

    def give_up(self) -> Talk:
        """End it without a product: what is left is poured away."""
        guide = self._here
        if guide.stage is Stage.BATH:
            raise Refusal("Stop the bath first: + stops it.")
        answer = yield Step("Give it up: why?", WHY_GIVEN_UP, "in words", writes=True)
        words = answer.words if answer.number else text.clean(answer.words, limit=80)
        self._step(guide.who, Mark.GIVEN_UP, words)
        return f"{guide.batch} is given up: {words}. Neutralize what is left before it is poured."

    def undo(self) -> str:
        """Take the newest step back; not the first, and not the last: those are given up."""
        guide = self._here
        newest = guide.done[-1]
        if newest.mark in ENDS or len(guide.done) == 1:
            raise Refusal("This step is not taken back: / gives the whole up, with a reason.")
        now = self.site.now()
        entry = Entry("void", self.site.signs(guide.who), now, now, SITE, amends=newest.n,
                      reason="taken back")  # fmt: skip
        self.site.record(entry)
        self.reload()
        return f"Taken back: {newest.mark.value}."

    @property
    def must_stop(self) -> bool:
        """Whether the bath is so hot that nothing else is done before it is stopped."""
        guide = self.guide
        if guide is None or guide.stage is not Stage.BATH or self.procedure is Procedure.GEAR:
            return False
        recipe = guided.recipe_of(self.site.plan)
        return guided.bath(guide, recipe, self.site.now()).danger is Danger.STOP


def taken_up(site: Site, name: str = "") -> GuidedSitting | None:
    """What a name means: a batch under way, or a new one; "" is the only one that is under way.

    None where it has to be asked; Refusal for a name that means none, and where a plan has not
    what a new one needs.
    """
    going = under_way(site)
    if name.lower() in NAMES:
        sitting = GuidedSitting(site, NAMES[name.lower()])
        sitting.check()
        return sitting
    meant = [one for one in going if not name or one.batch.lower() == name.lower()]
    if name and not meant:
        known = ", ".join([*(one.batch for one in going), *NAMES])
        raise Refusal(f"{name[:20]!r} is not under way here. There is: {known}.")
    return GuidedSitting(site, meant[0].procedure, meant[0].batch) if len(meant) == 1 else None
