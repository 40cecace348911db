"""The counting pad as a person finds it: by keys, line by line, and through a sudden end."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from demo_support import opened
from tankwalk.ledger.entries import Batch, BatchOf, Entry
from tankwalk.plain_count import PlainCount
from tankwalk.practice.counting.pad import About, Out, Sort
from tankwalk.practice.counting.sitting import Sitting, drafts
from tankwalk.practice.counting.talk import of_batch
from tankwalk.practice.site import SITE, Site
from test_people import stood_still
from test_screens import Room, at_the_screen, newest


@pytest.fixture
def demo(tmp_path: Path) -> Iterator[Site]:
    site = opened(tmp_path)
    yield site
    site.close()


def counts(site: Site, n: int) -> list[tuple[str, float, float, tuple[int, ...]]]:
    seen = site.reader.feeding.counts([n]).get(n, [])
    return [(one.what, one.ml, one.dilution, one.counts) for one in seen]


async def to_the_pad(room: Room) -> None:
    """From the board to the first drop of the newest cone, as PB: four keys."""
    await room.press("c", "1", "1", "enter", "5")
    assert "Type what is in the first drop, then Enter." in room.text


def test_a_cone_is_counted_by_pad_and_kept_as_one_entry_of_its_batch(demo: Site) -> None:
    async def act(room: Room) -> None:
        await to_the_pad(room)
        assert "COUNT  A0509 nauplii, PB" in room.text
        for drop in ("34", "29", "38"):
            await room.press(*drop, "enter")
        assert "mean   337 per mL   95 % 274 - 409 (exact, 101 counted)" in room.text
        assert "in 7.5 L  2.52 million" in room.text
        assert "2 more like these would narrow it to 287 - 391 (168 counted)." in room.flowing
        await room.press("3", "1", "enter")
        assert "Enough: 132 counted" in room.text
        await room.press("plus")
        assert "TANKS  oxygen" in room.text, "back on the board"
        assert "Kept (PB): A0509 nauplii, 330 per mL" in room.flowing

    at_the_screen(demo, act)
    n, batch, event, per_ml, litres = newest(demo, "batches", "n, batch, event, per_ml, litres")
    assert (batch, event, per_ml, litres) == ("A0509", "count", 330.0, 7.5)
    assert counts(demo, n) == [("nauplii", 0.1, 1.0, (34, 29, 38, 31))]
    assert drafts(demo) == []


def test_a_count_that_is_not_enough_is_asked_about_and_the_first_answer_counts_on(
    demo: Site,
) -> None:
    async def act(room: Room) -> None:
        await to_the_pad(room)
        await room.press("3", "4", "enter", "plus")
        assert "Keep it all the same?" in room.text
        await room.press("1")
        assert "> 2" in room.text
        await room.press("plus", "2")
        assert "Kept (PB)" in room.text

    at_the_screen(demo, act)
    assert newest(demo, "batches", "event, per_ml") == ("count", 340.0)


def test_one_counted_again_and_one_left_out_stay_in_sight_and_in_the_record(demo: Site) -> None:
    async def act(room: Room) -> None:
        await to_the_pad(room)
        await room.press(*"34", "enter", *"29", "enter", *"90", "enter")
        assert "Not well mixed" in room.text
        assert "? odd" in room.text
        await room.press("asterisk", *"38", "enter")
        assert "left out: counted again" in room.text
        await room.press("up", "up", "up", "slash", "1")
        assert "left out: bubble or spilled" in room.text
        await room.press(*"33", "enter", *"31", "enter", "plus")
        assert "Kept (PB)" in room.text

    at_the_screen(demo, act)
    n, text = newest(demo, "batches", "n, text")
    assert text == "left out 29: bubble or spilled; left out 90: counted again"
    assert counts(demo, n)[0][3] == (34, 38, 33, 31)


def test_an_empty_enter_and_a_sign_after_digits_keep_nothing(demo: Site) -> None:
    async def act(room: Room) -> None:
        await to_the_pad(room)
        await room.press("enter")
        assert "Nothing was typed, so nothing is kept" in room.text
        await room.press("plus")
        assert "Nothing to keep yet" in room.text
        await room.press("3", "plus")
        assert "Enter keeps 3 first" in room.text
        await room.press("escape")
        assert "3_" not in room.text

    before = newest(demo, "entries", "n")
    at_the_screen(demo, act)
    assert newest(demo, "entries", "n") == before


def test_esc_leaves_with_what_was_counted_and_the_pad_goes_on_there(demo: Site) -> None:
    async def act(room: Room) -> None:
        await to_the_pad(room)
        await room.press(*"34", "enter", *"29", "enter", "escape")
        assert "2 counted and kept: the pad goes on there." in room.text
        await room.press("c")
        assert "1 go on: A0509 nauplii" in room.flowing
        await room.press("1", "enter", "5")
        assert "On where it was: 2 kept already." in room.text
        assert "> 3" in room.text
        await room.press("u", "u")
        assert "> 1" in room.text

    at_the_screen(demo, act)
    assert drafts(demo) == []


def test_every_number_is_in_the_record_before_the_next_one(demo: Site) -> None:
    about = of_batch(demo, "A0509")
    first = Sitting(demo, "PB", about)
    first.add(34)
    first.add(29)
    first.leave_out(Out.CLUMP)
    # Nothing says good-bye: the program is gone, and another one is started.
    again = Sitting(demo, "RO", about)
    assert again.count == first.count
    again.add(38)
    again.keep("as it is")
    kept, amended = newest(demo, "entries", "n, amends")
    assert [one[3] for one in counts(demo, kept)] == [(34, 38)]
    assert amended == kept - 1


def test_rotifers_and_their_eggs_are_two_counts_of_one_entry(demo: Site) -> None:
    now = demo.now()
    demo.record(
        Entry("batch", "RO", now, now, SITE),
        Batch("R1", "set", litres=60.0),
        BatchOf("rotifers", "R0"),
    )

    async def act(room: Room) -> None:
        await room.press("c", "2", "1", "enter", "5")
        for number in ("50", "31", "48", "30", "53", "33"):
            await room.press(*number, "enter")
        assert "0.62 eggs a female" in room.text
        await room.press("plus")
        assert "Kept (PB)" in room.text

    at_the_screen(demo, act)
    n, batch = newest(demo, "batches", "n, batch")
    assert batch == "R1"
    assert sorted(counts(demo, n)) == [
        ("eggs", 1.0, 1.0, (31, 30, 33)),
        ("rotifers", 1.0, 1.0, (50, 48, 53)),
    ]


def test_larvae_of_a_vessel_go_into_a_tank_with_what_they_may_be_off(demo: Site) -> None:
    async def act(room: Room) -> None:
        await room.press("c", "5", "0", "3")
        await room.press(*"12", "enter", "enter", "5")
        for number in ("41", "38", "44", "40", "43"):
            await room.press(*number, "enter")
        await room.press("plus")
        assert "4,944 larvae at T03: keep them as what?" in room.text
        await room.press("1")
        assert "Kept (PB): T03 larvae" in room.flowing

    at_the_screen(demo, act)
    moved = demo.reader.stock.all_movements(["T03"])["T03"][-1]
    assert (moved.what, moved.fish) == ("stocked", 4944)
    n, place, plus_minus = demo.ledger.db.execute(
        "SELECT e.n, e.place, m.plus_minus FROM movement m JOIN entries e ON e.n = m.entry "
        "ORDER BY e.n DESC LIMIT 1"
    ).fetchone()
    assert place == "T03"
    assert 600 < plus_minus < 700
    assert counts(demo, n)[0][:3] == ("larvae", 100.0, 1.0)


def test_a_lots_test_hatch_is_by_all_three_stages(demo: Site) -> None:
    sitting = Sitting(demo, "RO", About(Sort.HATCH, 0.25, batch="AC-7", lot="AC-7"))
    for number in (55, 3, 12, 55, 3, 12):
        sitting.add(number)
    sitting.keep("x")
    found = newest(demo, "batches", "batch, event, hatch_percent")
    assert found == ("AC-7", "test hatch", 78.6)


def test_w_shows_the_same_sum_in_the_workings_and_leads_back(demo: Site) -> None:
    async def act(room: Room) -> None:
        await to_the_pad(room)
        await room.press(*"34", "enter", *"29", "enter", *"38", "enter", "w")
        assert "Population from subsamples" in room.text
        assert "336.67 per mL" in room.text
        await room.press("escape")
        assert "> 4" in room.text

    at_the_screen(demo, act)


def test_line_by_line_it_is_the_same_count(demo: Site) -> None:
    said: list[str] = []
    answers = iter(["1", "1", "", "5", "34", "29", "90", "*", "38", "x", "31", "+"])
    assert PlainCount(demo, answers, said.append, None).run(None) == 0
    assert "Drop 3 is the odd one" in "\n".join(said)
    assert "'x' is none of these." in said
    assert said[-1].startswith("Kept (PB): A0509 nauplii, 330 per mL")
    assert newest(demo, "batches", "event, per_ml") == ("count", 330.0)


def test_answers_that_end_leave_what_was_counted(demo: Site) -> None:
    said: list[str] = []
    assert PlainCount(demo, iter(["", "34"]), said.append, "PB").run(of_batch(demo, "A0509")) == 1
    assert [one.begun.samples[0].counts for one in drafts(demo)] == [(34,)]


def test_the_pad_fits_a_small_window_and_shows_the_newest_of_many(demo: Site) -> None:
    async def act(room: Room) -> None:
        await to_the_pad(room)
        for number in range(30, 48):
            await room.press(*str(number), "enter")
        assert "> 19" in room.text
        assert "mean" in room.text
        assert "Enough" in room.text or "Not well" in room.text
        assert len(room.text.split("\n")) == 20

    at_the_screen(demo, act, (60, 20))


def test_what_a_draft_leaves_in_the_digest_chain_is_whole(demo: Site) -> None:
    sitting = Sitting(demo, "PB", of_batch(demo, "A0509"))
    sitting.add(34)
    sitting.add(30)
    sitting.undo()
    sitting.undo()
    assert drafts(demo) == []
    rows = demo.ledger.db.execute("SELECT reason FROM entries ORDER BY n DESC LIMIT 1").fetchone()
    assert rows == ("taken back",)


# ---- after a pause


def test_after_a_pause_the_pad_asks_who_counts_on_and_keeps_what_is_typed(demo: Site) -> None:
    async def act(room: Room) -> None:
        await to_the_pad(room)
        await room.press(*"34", "enter", "2")
        stood_still(demo, 40)
        await room.press("9")
        assert "Nobody typed here for 40 min; it was PB. Who goes on?" in room.flowing
        await room.press("2")
        assert "COUNT  A0509 nauplii, JQ" in room.text
        await room.press("8", "enter")

    at_the_screen(demo, act)
    (one,) = drafts(demo)
    assert one.who == "JQ"
    assert [sample.counts for sample in one.begun.samples] == [(34,), (28,)]


def test_line_by_line_the_number_after_a_pause_waits_until_it_is_said_whose_it_is(
    demo: Site,
) -> None:
    def typed() -> Iterator[str]:
        yield from ("", "34")
        stood_still(demo, 21)
        yield "28"
        yield "2"
        yield ""

    said: list[str] = []
    PlainCount(demo, typed(), said.append, "PB").run(of_batch(demo, "A0509"))
    assert any("it was PB. Who goes on? 1 PB; 2 JQ" in one for one in said), said
    (one,) = drafts(demo)
    assert (one.who, len(one.begun.samples)) == ("JQ", 2)
