"""Follow-ups: what is to do and what is altered, who may close it, and that none is ever lost."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from site_support import SMALL, clock_shows, entries, moment, opened, standing_at
from tankwalk.errors import Refusal
from tankwalk.ledger.follow_up_kinds import FollowUpEvent, FollowUpState, MayClose
from tankwalk.ledger.follow_ups import FollowUpSeen
from tankwalk.pages import follow_up_words
from tankwalk.practice.doing import follow_ups
from tankwalk.practice.doing.follow_ups import (
    Effect,
    barred,
    carried,
    close,
    done,
    drop,
    from_flag,
    from_note,
    give_to,
    may_close,
    new_time,
    open_action,
    open_altered,
    reopen,
    rule_of,
    shifts,
)
from tankwalk.practice.judging.standing.flags import Key
from tankwalk.practice.judging.standing.wrong_now import wrong_now
from tankwalk.practice.site import Site

DUTIES = {"AB": "technician", "CD": "lead", "EF": "study owner", "GH": "veterinarian"}

CREW = SMALL.replace('[[person]]\ninitials = "AB"\n[[person]]\ninitials = "CD"\n'
                     '[[person]]\ninitials = "EF"\n',
                     "".join(f'[[person]]\ninitials = "{who}"\nduty = "{duty}"\n'
                             for who, duty in DUTIES.items()))  # fmt: skip
"""The small room with a technician, a lead, a study owner and a veterinarian."""

NOON = "2026-05-10T12:00"


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    with opened(tmp_path, CREW) as site:
        yield site


def one(site: Site, n: int) -> FollowUpSeen:
    """A follow-up by its opening, standing or ended."""
    found = site.reader.follow_ups.opened_by(n)
    assert found is not None
    return found


def said(site: Site, n: int) -> str:
    """What the page says of a follow-up."""
    return follow_up_words.said(carried(one(site, n), site.plan, site.now()))


def terms(site: Site, n: int) -> str:
    """How the page says that it stands."""
    return follow_up_words.terms(carried(one(site, n), site.plan, site.now()))


def open_ones(site: Site) -> list[int]:
    return [f.opened for f in site.reader.follow_ups.open()]


@contextmanager
def refused(site: Site, words: str) -> Iterator[None]:
    """What is done inside is refused with these words, and nothing of it is kept."""
    before = len(entries(site))
    with pytest.raises(Refusal) as told:
        yield
    assert words in str(told.value)
    assert len(entries(site)) == before


# ---- the life of one


def test_an_action_is_new_then_somebodys_then_done_then_closed(site: Site) -> None:
    n = open_action(site, "ab", "order the part", "T01")
    assert (one(site, n).state, one(site, n).owner, one(site, n).place) == (
        FollowUpState.NEW,
        None,
        "T01",
    )
    give_to(site, "CD", n, "ef")
    assert (one(site, n).state, one(site, n).owner) == (FollowUpState.OWNED, "EF")
    done(site, "EF", n, "ordered")
    assert (one(site, n).state, one(site, n).done_by) == (FollowUpState.DONE, "EF")
    assert open_ones(site) == [n], "what is said to be done is carried over until it is closed"
    close(site, "EF", n, "it came")
    assert one(site, n).state is FollowUpState.CLOSED
    assert open_ones(site) == []
    assert [(t.event.value, t.text, t.who) for t in one(site, n).turns] == [
        ("open", "order the part", "AB"), ("open", "given to EF", "CD"),
        ("done", "ordered", "EF"), ("close", "it came", "EF"),
    ]  # fmt: skip


def test_what_is_dropped_says_why_and_does_not_come_back_by_itself(site: Site) -> None:
    n = open_action(site, "AB", "order the part")
    with refused(site, "a word says what was done, or why"):
        drop(site, "AB", n, " \x07")
    drop(site, "AB", n, "found one in the drawer")
    assert one(site, n).state is FollowUpState.DROPPED
    for act in (done, close, drop):
        with refused(site, "AB dropped this at Sun 10 May 07:00"):
            act(site, "CD", n, "again")


def test_what_was_closed_in_error_is_taken_up_again_and_both_stamps_stay(site: Site) -> None:
    n = open_action(site, "AB", "clean the drum", owner="AB")
    close(site, "AB", n, "clean")
    clock_shows(site, "2026-05-11T07:00")
    reopen(site, "CD", n, "it drips still")
    again = one(site, n)
    assert (again.state, again.owner, again.at) == (
        FollowUpState.OWNED,
        "AB",
        moment("2026-05-10T07:00"),
    )
    assert shifts(again, site.now()) == 3, "a reopening keeps the age"
    assert [(t.event.value, t.at.day.day) for t in again.turns] == [
        ("open", 10), ("close", 10), ("reopen", 11),
    ]  # fmt: skip
    with refused(site, "open as it is"):
        reopen(site, "CD", n, "once more")


def test_done_twice_is_told_and_not_done_after_all_takes_the_claim_back(site: Site) -> None:
    n = open_action(site, "AB", "change the probe", rule=MayClose.METER)
    done(site, "AB", n, "changed")
    with refused(site, "AB said that this is done already"):
        done(site, "CD", n, "changed")
    reopen(site, "CD", n, "the old one is still in")
    assert (one(site, n).state, one(site, n).done_by) == (FollowUpState.NEW, None)


def test_another_time_is_a_time_to_come(site: Site) -> None:
    n = open_action(site, "AB", "look again", due_at=moment("2026-05-10T08:00").utc)
    new_time(site, "AB", n, moment(NOON).utc)
    assert one(site, n).due_at == moment(NOON).utc
    with refused(site, "Sun 10 May 06:59 is past"):
        new_time(site, "AB", n, moment("2026-05-10T06:59").utc)
    assert one(site, n).state is FollowUpState.NEW


def test_what_nobody_opened_cannot_be_closed(site: Site) -> None:
    n = open_action(site, "AB", "look again")
    close(site, "AB", n, "done")
    closing = one(site, n).turns[-1].n
    for number in (closing, 9999):
        with refused(site, f"Entry {number} opens no action"):
            close(site, "AB", number, "done")


@pytest.mark.parametrize("words", ["", "  ", "\x1b\x07", "\u202e"])
def test_nothing_is_opened_without_words(site: Site, words: str) -> None:
    with refused(site, "Nothing was typed, so no action is kept"):
        open_action(site, "AB", words)
    with refused(site, "Nothing was typed, so no change is kept"):
        open_altered(site, "AB", words)


def test_only_people_and_places_of_the_plan_are_kept(site: Site) -> None:
    for more, words in (
        ({"place": "T99"}, "'T99' is no place of the plan"),
        ({"owner": "ZZ"}, "'ZZ' is not among the people of the plan"),
    ):
        with refused(site, words):
            open_action(site, "AB", "look", **more)  # type: ignore[arg-type]
    with refused(site, "'ZZ' is not among the people"):
        open_action(site, "ZZ", "look")
    n = open_action(site, "AB", "look")
    for act in (done, close, drop, give_to):
        with refused(site, "'ZZ' is not among the people"):
            act(site, "ZZ", n, "AB")
    with refused(site, "'ZZ' is not among the people"):
        give_to(site, "AB", n, "ZZ")


# ---- who may close


def closers(site: Site, n: int) -> str:
    return " ".join(who for who in DUTIES if may_close(site.plan, one(site, n), who))


@pytest.mark.parametrize("rule", [MayClose.METER, MayClose.SAFETY, MayClose.TREATMENT])
def test_meter_safety_and_treatment_are_closed_by_somebody_else(site: Site, rule: MayClose) -> None:
    n = open_action(site, "AB", "put it right", rule=rule)
    assert closers(site, n) == "CD EF GH", "nobody said that it is done: not the one who opened it"
    done(site, "CD", n, "put right")
    assert closers(site, n) == "AB EF GH"
    others = f"a {rule.value} matter is closed by somebody else: AB, EF, GH."
    words = f"CD said that it is done, and {others}"
    for act in (close, drop):
        with refused(site, words):
            act(site, "cd", n, "all right")
    close(site, "AB", n, "looked: it works")
    assert one(site, n).state is FollowUpState.CLOSED


def test_health_is_closed_by_the_lead_or_the_veterinarian(site: Site) -> None:
    n = open_action(site, "AB", "twenty dead kept", rule=MayClose.HEALTH)
    assert closers(site, n) == "CD GH"
    with refused(site, "Health is closed by the lead or the veterinarian (CD, GH): AB may not."):
        close(site, "AB", n, "they look well")
    close(site, "GH", n, "watch on")
    assert open_ones(site) == []


def test_a_deviation_is_closed_by_the_study_owner_with_its_effect(site: Site) -> None:
    n = open_action(site, "AB", "wrong cup in T01", rule=MayClose.DEVIATION)
    assert closers(site, n) == "EF"
    with refused(site, "A deviation is closed by the study owner (EF): CD may not."):
        close(site, "CD", n, "", Effect.NONE_SEEN)
    with refused(site, "A deviation is closed with its effect"):
        close(site, "EF", n, "one meal, no effect seen in gut fill")
    kept = close(site, "EF", n, "one meal, gut fill as ever", Effect.NONE_SEEN)
    assert kept == one(site, n).turns[-1].text == "no effect seen; one meal, gut fill as ever"
    assert one(site, n).state is FollowUpState.CLOSED


@pytest.mark.parametrize("effect", Effect)
def test_the_record_says_the_effect_before_anything_else_of_a_deviation(
    site: Site, effect: Effect
) -> None:
    for more, kept in (("", ""), ("seen in the census", "; seen in the census")):
        n = open_action(site, "AB", "wrong cup in T01", rule=MayClose.DEVIATION)
        close(site, "EF", n, more, effect)
        assert one(site, n).turns[-1].text == effect.value + kept


def test_what_is_no_deviation_is_closed_without_an_effect(site: Site) -> None:
    n = open_action(site, "AB", "wipe it")
    close(site, "AB", n, "no effect: it is dirty again")
    assert one(site, n).turns[-1].text == "no effect: it is dirty again"


def test_a_task_is_closed_by_the_one_who_did_it_or_by_anyone_who_looked(site: Site) -> None:
    for who in DUTIES:
        n = open_action(site, "AB", "wipe the spray")
        done(site, "AB", n, "wiped")
        close(site, who, n, "clean")
    assert open_ones(site) == []


def test_a_room_without_the_duty_says_that_nobody_may(tmp_path: Path) -> None:
    with opened(tmp_path, SMALL) as site:
        n = open_action(site, "AB", "twenty dead kept", rule=MayClose.HEALTH)
        with refused(site, "the lead or the veterinarian, and the plan names nobody: AB may not"):
            close(site, "AB", n, "well again")


def test_an_alarm_off_is_put_back_by_one_and_closed_by_another(site: Site) -> None:
    n = open_altered(site, "AB", "alarm shelved", "T01", moment(NOON).utc, rule=MayClose.SAFETY)
    done(site, "AB", n, "armed")
    assert barred(site, one(site, n), "AB")
    close(site, "CD", n, "tested, it rings")
    assert open_ones(site) == []


def test_the_rule_and_what_it_came_from_stand_beside_the_opening_alone(site: Site) -> None:
    plain_, told = (
        open_action(site, "AB", "look"),
        open_action(site, "AB", "look", rule=MayClose.SAFETY),
    )
    rows = site.ledger.db.execute("SELECT entry, rule, about FROM closing").fetchall()
    assert rows == [(told, "safety", None)]
    assert (one(site, plain_).rule, one(site, told).rule) == (MayClose.TASK, MayClose.SAFETY)


# ---- where they come from


def test_a_flag_becomes_an_action_with_its_words_and_place(site: Site) -> None:
    walk = standing_at(site, "T02", "do")
    for typed in ("4.4", "4.5"):
        walk.answer(typed)
    [flag] = wrong_now(site, site.reader.readings.newest_of_all(), site.now()).wrong
    n = from_flag(site, "AB", flag, "CD", moment(NOON).utc)
    kept = one(site, n)
    assert (kept.place, kept.owner, kept.rule) == ("T02", "CD", MayClose.TASK)
    assert (kept.text, kept.about) == (flag.sentence, "flag place T02 do")


def test_what_a_flag_is_about_says_who_may_close_it(site: Site) -> None:
    plan = site.plan
    assert rule_of(plan, Key("place", "T01", "do")) is MayClose.TASK
    assert rule_of(plan, Key("loop", "L1", "do")) is MayClose.TASK
    assert rule_of(plan, Key("meter", "B", "do")) is MayClose.METER
    assert rule_of(plan, Key("place", "T01", "morts")) is MayClose.HEALTH
    assert rule_of(plan, Key("place", "site", "alarm")) is MayClose.SAFETY
    assert rule_of(plan, Key("place", "T01", "what the plan dropped")) is MayClose.TASK


def test_a_flag_of_a_meter_names_it_for_the_whole_site(site: Site) -> None:
    walk = standing_at(site, "T02", "do")
    for typed in ("4.4", "4.5"):
        walk.answer(typed)
    [flag] = wrong_now(site, site.reader.readings.newest_of_all(), site.now()).wrong
    meter = flag._replace(key=Key("meter", "B", "do"), place="meter B", sentence="suspect meter B")
    kept = one(site, from_flag(site, "AB", meter))
    assert (kept.place, kept.text, kept.rule) == ("site", "meter B suspect meter B", MayClose.METER)


def test_a_note_becomes_an_action_where_it_was_made(site: Site) -> None:
    walk = standing_at(site, "T01", "temp")
    walk.note()
    walk.answer("spray hangs")
    [note] = site.reader.notes.since(0)
    kept = one(site, from_note(site, "CD", note))
    assert (kept.text, kept.place, kept.about) == ("spray hangs", "T01", f"note {note.n}")


# ---- in words


def test_its_age_is_told_in_shifts_and_after_three_it_is_the_leads(site: Site) -> None:
    n = open_action(site, "AB", "order the part", owner="EF", due_at=moment(NOON).utc)
    told = []
    for at in ("2026-05-10T14:59", "2026-05-10T23:00", "2026-05-11T07:00", "2026-05-11T15:00"):
        clock_shows(site, at)
        told.append(terms(site, n))
    assert told == [
        "EF, by Sun 10 May 12:00, overdue 2 h 59 min",
        "EF, by Sun 10 May 12:00, overdue 11 h, open 2 shifts",
        "EF, by Sun 10 May 12:00, overdue 19 h, open 3 shifts; CD to decide",
        "EF, by Sun 10 May 12:00, overdue 27 h, open 4 shifts; CD to decide",
    ]


def test_what_is_altered_says_until_when_and_whose_it_is_and_what_it_is_about(site: Site) -> None:
    n = open_altered(
        site, "AB", "alarm shelved", "T01", moment(NOON).utc, "CD", rule=MayClose.SAFETY
    )
    assert said(site, n) == "T01 alarm shelved"
    assert terms(site, n) == "CD, put back by Sun 10 May 12:00, safety"
    done(site, "EF", n, "armed")
    assert terms(site, n) == ("CD, done by EF, to be closed, put back by Sun 10 May 12:00, safety")
    m = open_altered(site, "AB", "lights on")
    assert (said(site, m), terms(site, m)) == (
        "lights on", "no end set",
    )  # fmt: skip


def test_a_clock_that_was_set_back_makes_nothing_younger_than_new(site: Site) -> None:
    n = open_action(site, "AB", "look")
    clock_shows(site, "2026-05-09T07:00")
    assert shifts(one(site, n), site.now()) == 0
    assert terms(site, n) == "next shift lead"


# ---- whatever is done to them

ACTS = st.sampled_from(["action", "altered", "done", "close", "drop", "reopen", "give", "time"])
PEOPLE = st.sampled_from(sorted(DUTIES))
RULES = st.sampled_from(list(MayClose))
MOVES = st.lists(
    st.tuples(
        ACTS,
        PEOPLE,
        st.integers(0, 4),
        st.sampled_from(list(MayClose)),
        st.integers(0, 12),
        st.booleans(),
    ),
    max_size=25,
)


def move(site: Site, kind: str, who: str, which: int, rule: MayClose, known: list[int]) -> None:
    """Somebody does something, to one that is there where there is one."""
    if kind == "action":
        known.append(open_action(site, who, f"task {len(known)}", rule=rule))
    elif kind == "altered":
        known.append(open_altered(site, who, f"change {len(known)}", rule=rule))
    elif known:
        n = known[which % len(known)]
        match kind:
            case "done":
                done(site, who, n, "no effect")
            case "close":
                close(site, who, n, "it is so", Effect.SMALL)
            case "drop":
                drop(site, who, n, "why")
            case "reopen":
                reopen(site, who, n, "again")
            case "give":
                give_to(site, who, n, sorted(DUTIES)[which % 4])
            case "time":
                new_time(site, who, n, site.now().utc + which * 600 - 600)


def allowed(site: Site, *what: Any) -> bool:
    """Whether a move was allowed, and made."""
    try:
        move(site, *what)
    except Refusal:
        return False
    return True


def ends(site: Site, n: int) -> list[str]:
    """Closing, dropping and reopening entries of one, as the record's rows have them."""
    rows = site.ledger.db.execute(
        "SELECT event FROM follow_up WHERE opened = ? AND event IN ('close', 'drop', 'reopen')"
        " ORDER BY entry",
        (n,),
    )
    return [event for (event,) in rows]


@given(MOVES)
@settings(max_examples=60, suppress_health_check=[HealthCheck.too_slow])
def test_none_disappears_without_an_end_and_none_grows_younger(moves: list[Any]) -> None:
    with tempfile.TemporaryDirectory() as folder, opened(Path(folder), CREW) as site:
        known: list[int] = []
        ages: dict[int, int] = {}
        now = moment("2026-05-10T07:00")
        for kind, who, which, rule, hours, loud in moves:
            now = now._replace(utc=now.utc + hours * 3600)
            clock_shows(site, now.iso())
            before = len(entries(site))
            if not allowed(site, kind, who, which, rule, known):
                assert len(entries(site)) == before, "what is refused leaves nothing"
            shown = open_ones(site)
            assert len(set(shown)) == len(shown)
            for n in known:
                seen = one(site, n)
                last = next((e for e in reversed(ends(site, n)) if e != "reopen"), None)
                reopened = ends(site, n)[-1:] == ["reopen"]
                gone = n not in shown
                assert gone == (last is not None and not reopened and not seen.stands)
                if gone:
                    assert ends(site, n)[-1] in ("close", "drop")
                    assert seen.turns[0].event is FollowUpEvent.OPEN
                age = shifts(seen, site.now())
                assert age >= ages.get(n, 0)
                ages[n] = age
            if loud:
                for seen in site.reader.follow_ups.open():
                    assert terms(site, seen.opened)


def test_two_terminals_close_one_thing_once(site: Site, tmp_path: Path) -> None:
    n = open_action(site, "AB", "look")
    with opened(tmp_path, laptop="office") as other:
        close(other, "CD", n, "seen there")
    with refused(site, "CD closed this at Sun 10 May 07:00"):
        close(site, "AB", n, "seen here")


def test_places_are_the_site_its_loops_and_its_tanks(site: Site) -> None:
    assert follow_ups.places(site.plan) == ("site", "L1", "T01", "T02")
