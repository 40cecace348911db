"""The walk: one answer at a time through a round, the same for the screen and the plain mode.

`answer` takes what was typed for the present question and gives a `Reply`. Whatever is accepted is
on the disk before `answer` returns. `view` is all that a page shows of it. Nothing here knows a
widget.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from tankwalk.errors import Refusal
from tankwalk.ledger import sqlite_errors
from tankwalk.ledger.rounds import RoundSeen
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.round import view
from tankwalk.practice.round.held import Held, Snapshot
from tankwalk.practice.round.progress import Progress
from tankwalk.practice.round.questions import AskAgain, AskSign, AskWords, Reply
from tankwalk.practice.round.view import Seeing, WalkView
from tankwalk.practice.site import Site


class Walk(Progress):
    """One person walking one round: what is asked of them now, and what becomes of an answer."""

    def __init__(self, site: Site, found: RoundSeen, who: str) -> None:
        super().__init__(site, found, who)
        self._view = Snapshot(self._seen)
        self._whole: Held | None = None
        """What the round held when it was last judged as a whole."""
        self.judges_later = False
        """Its last answer is said before the round is judged as a whole: a page paints it first."""
        self.whole_waits = False
        """The round is to be judged as a whole, by `judge_whole`, before anything else is done."""
        self.stand(self.where_it_ends())

    def view(
        self, past: int = 0, elsewhere: int = 0, *, worked: bool = True, opened: bool = True
    ) -> WalkView:
        """What a page shows now: the same value until an act, a look at the record, or a minute.

        `past` is how many of the present item's newest readings the page has room for, `elsewhere`
        at how many places it shows the item, `worked` whether it shows what is worked out at the
        stop, `opened` whether it shows what stands open. Refusal where the record cannot be read.
        """
        return self._view.of(view.seeing(self, past, elsewhere, worked=worked, opened=opened))

    def ahead(self, past: int = 0, elsewhere: int = 0, typed: str = "") -> Iterator[str]:
        """Read, a step at a time, what `typed` will be held against, should it be entered, and what
        `view` will want then and at the next stop.

        Refusal where the record cannot be read.
        """
        yield from view.foreseen(self, typed)
        yield from view.ahead(self, past, elsewhere)

    def _seen(self, seeing: Seeing) -> WalkView:
        return view.made(self, seeing)

    # ---- acts

    def answer(self, typed: str) -> Reply:
        """One answer to what is asked now. Never raises: a refusal is the reply's sentence."""
        from tankwalk.practice.round import answering

        return self._safely(lambda: answering.answer(self, typed))

    def undo(self) -> Reply:
        """Take back this person's newest standing entry: an amendment, not an erasure."""
        from tankwalk.practice.round import taking

        return self._safely(lambda: taking.undo(self))

    def move(self, way: str) -> Reply:
        """Arrows: "up"/"down" an item, "left"/"right" a page. Nothing is kept or lost by it."""
        return self._safely(lambda: self._moved(way))

    def _moved(self, way: str) -> Reply:
        self.notice()
        here = self.page
        if way == "up":
            index = self.at - 1
        elif way == "down":
            index = self.at + 1
        else:
            page = max(0, min(here + (1 if way == "right" else -1), len(self.agenda.pages)))
            index = self.arrive(page)
        self.stand(index)
        return Reply(self._where() if self.page != here and not self.at_end else "")

    def _where(self) -> str:
        """Where an arrow led to, where that is another stop."""
        title = self.agenda.pages[self.page].title
        filled = "" if self.open_here() else "; nothing is open here"
        at = f"{title}, stop {self.page + 1} of {len(self.agenda.pages)}"
        return f"{at}: {self.slot.item.label}{filled}."

    def back(self) -> bool:
        """Esc: leave the question, else put a first response aside; False when there is neither."""
        wanted = isinstance(self.question, AskAgain) and self.pending(self.slot)
        if self.question is None and self.pinned and not self.signed:
            self._safely(self._put_aside)
            return True
        if self.question is None or wanted or isinstance(self.question, AskSign):
            return False
        self._safely(self._left)
        return True

    def _put_aside(self) -> Reply:
        slot = self.pinned[0].slot
        self.unpin(slot)
        return Reply(
            f"Put aside: {slot.place} {slot.item.label} stays on the board until it is over."
        )

    def _left(self) -> Reply:
        again = isinstance(self.question, AskAgain)
        self.stand(self.held.next_open(self.at) if again else self.at)
        return Reply("Back: nothing was kept.")

    def note(self) -> Reply:
        """A note in one's own words for the place the person stands at."""
        if self.signed or not self.slots:
            return self.say(Reply("This round takes no more notes.", Flag.CHECK))
        return self.say(self.ask(AskWords(self.slot)))

    def next_meter(self) -> Reply:
        """Take the next meter of the present item's kind for the readings that follow."""
        kind = self.slot.item.instrument if self.slots else None
        codes = [m.code for m in self.site.plan.instruments if m.kind == kind]
        if kind is None or len(codes) < 2:
            return self.say(Reply("There is no other meter for this.", Flag.CHECK))
        now = self.meter(self.slot)
        chosen = codes[(codes.index(now) + 1) % len(codes)] if now in codes else codes[0]
        self.meters[kind] = self.in_hand[kind] = chosen
        return self.say(Reply(f"Readings that follow are taken with {kind} {chosen}."))

    def at_desk(self) -> Site:
        """The site at the time of now, where one types."""
        return self.site

    def hand_to(self, who: str) -> None:
        """Somebody else goes on here, under their own initials; the record says so."""
        who = self.site.signs(who)
        self._handed(who)
        self.who = self.keeping.who = who
        self.look += 1  # a view names who walks

    def _handed(self, who: str) -> None:
        from tankwalk.practice.round import rounds

        found = self.round
        rounds.event(self.site, self.site.now(), who, found.number, found.checklist, "resume")

    def say(self, reply: Reply) -> Reply:
        """Let the page say something."""
        self.said = reply
        return reply

    def _with_meter(self, reply: Reply) -> Reply:
        """What is said of an act, and that the meter is another one where it led to."""
        other = self.changed_meter()
        kept = f"{reply.kept}{other}" if reply.kept else ""
        return reply._replace(sentence=f"{reply.sentence}{other}".strip(), kept=kept)

    def _with_whole(self, reply: Reply) -> Reply:
        """What is said of an act, and what the round shows as a whole once its last item is in."""
        done = self.at_end and isinstance(self.question, AskSign) and not self.open_slots()
        if not done or self.held is self._whole or not self.slots:
            return reply
        self._whole = self.held
        if self.judges_later:
            self.whole_waits = True
            return reply
        return self._whole_said(reply)

    def judge_whole(self) -> bool:
        """Judge the round as a whole where that waits; True where there is more to say by it."""
        if not self.whole_waits:
            return False
        self.whole_waits, said = False, self.said
        try:
            with sqlite_errors.told(self.site.ledger.path):
                self.say(self._whole_said(said))
        except Refusal as refusal:  # it is judged once more as it is signed
            self.say(Reply(str(refusal), Flag.CHECK, understood=False))
        return self.said is not said

    def _whole_said(self, reply: Reply) -> Reply:
        """The same reply, with what the whole round shows that did not stand before."""
        from tankwalk.practice.round import ending

        found = ending.judged_whole(self)
        if not found:
            return reply
        self.stirred()
        told = max(found, key=lambda one: one.flag)
        do = f" First: {told.do}" if told.do else ""
        said = f"{told.flag.mark} {told.sentence.split('; ')[0]}"  # the board has its reasons
        if len(found) > 1:
            said += f"; {len(found) - 1} more on the board"
        flag = max(reply.flag, told.flag)
        words = f"{reply.sentence} The round as a whole: {said}.{do}".strip()
        return reply._replace(sentence=words, flag=flag, kept=words)

    def _safely(self, act: Callable[[], Reply]) -> Reply:
        """Do something; where it is refused, say so and stand as before, to be tried again."""
        stood = self.at, self.question
        try:
            with sqlite_errors.told(self.site.ledger.path):
                reply = self._with_whole(self._with_meter(act()))
                if self.at != stood[0] and self.notice() and self.question is None:
                    self.stand(self.at)
                return self.say(reply)
        except Refusal as refusal:
            self.at, self.question = stood
            return self.say(Reply(str(refusal), Flag.CHECK, understood=False))
