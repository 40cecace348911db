"""What judging did at a site, what people did with it, and what another limit would have done."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest

from learning_support import NOW, PLAN, ph_room
from site_support import moment
from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.ledger.entries import Entry, FlagEvent, JudgedAs, Note, Reading, Suspect
from tankwalk.plan.bands import band_at
from tankwalk.practice.judging.rules import Rule
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.learning import changing, trying
from tankwalk.practice.learning.met import Followed
from tankwalk.practice.learning.talk import foretold
from tankwalk.practice.learning.trying import Case, tried
from tankwalk.practice.learning.view import learned
from tankwalk.practice.past.window import window
from tankwalk.practice.site import Site


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    with ph_room(tmp_path / "room") as made:
        yield made


def ph_of_t05(site: Site) -> Case:
    return trying.case(site, "T05", "ph", window(site, site.now(), 30))


def test_each_flag_is_told_by_what_people_did_with_it(site: Site) -> None:
    found = learned(site)
    assert [(one.places, one.item) for one in found.places] == [(("T05",), "ph")]
    uses = found.places[0].uses
    assert (uses.flags, uses.watch, uses.act) == (9, 9, 0)
    assert (uses.acted, uses.dismissed, uses.meter, uses.nothing) == (1, 5, 0, 3)
    assert [one.rule for one in found.rules] == [Rule.BAND]


@pytest.mark.parametrize(
    ("words", "place", "hours", "followed"),
    [
        ("brushed the probe, titrated again", "T05", 1.0, Followed.ACTED),
        ("brushed the probe, titrated again", "T05", 13.0, Followed.NOTHING),
        ("brushed the probe, titrated again", "T04", 1.0, Followed.NOTHING),
        ("visitor in the room", "T05", 1.0, Followed.NOTHING),
    ],
)
def test_a_note_of_that_place_and_shift_says_that_somebody_saw_to_it(
    site: Site, words: str, place: str, hours: float, followed: Followed
) -> None:
    """What the plan has ready to be pressed tells of no deed."""
    site.plan = site.plan._replace(canned_notes=("visitor in the room",))
    [flag] = [one for one in learned(site).flags if one.since.day.isoformat() == "2026-05-04"]
    assert flag.followed is Followed.NOTHING
    at = Instant(flag.last.utc + int(hours * 3600), flag.last.offset)
    site.record(Entry("note", "AB", at, site.now(), place), Note(words))
    [flag] = [one for one in learned(site).flags if one.since.day.isoformat() == "2026-05-04"]
    assert flag.followed is followed


def test_false_ones_a_week_stand_beside_what_chance_may_raise(site: Site) -> None:
    found = learned(site)
    assert found.watch.false == pytest.approx(8 / 30 * 7)
    assert found.watch.borne == pytest.approx(7 * 0.2)
    assert found.watch.all == pytest.approx(9 / 30 * 7)


def test_a_limit_is_foretold_by_the_judge_of_the_walk(site: Site) -> None:
    known = ph_of_t05(site)
    assert (len(known.flags), known.again) == (9, 9)
    found = tried(site, known, low=6.9, high=7.9)
    assert (found.flags, found.act) == (2, 0)
    assert [one.followed for one in found.told] == [Followed.ACTED]
    assert found.lost == ()


def test_a_limit_that_would_hide_what_was_acted_on_says_so(site: Site) -> None:
    found = tried(site, ph_of_t05(site), low=6.6, high=7.9)
    assert found.told == ()
    assert [one.flag for one in found.lost] == [Flag.WATCH]


def test_a_first_reading_that_was_not_found_again_is_no_flag(site: Site) -> None:
    at = site.now()
    entry = Entry("reading", "AB", at, at, "T01", "ph", "")
    why = JudgedAs("band", "pH 7.70, band 7.00 - 7.60")
    site.record(entry, Reading(7.7, "7.7", flag=Flag.WATCH), why)
    assert len(learned(site).flags) == 10
    site.record(entry, Reading(7.4, "7.4", recheck=True))
    assert len(learned(site).flags) == 9


def test_what_a_suspect_meter_raised_counts_to_the_meter(site: Site) -> None:
    at = site.now()
    entry = Entry("reading", "AB", at, at, "T02", "ph", "")
    why = JudgedAs("meter up", "3 tanks, one meter")
    site.record(entry, Reading(7.7, "7.7", flag=Flag.WATCH), why)
    (found,) = (one for one in learned(site).flags if one.places == ("T02",))
    assert found.followed is Followed.METER
    assert found.false


def condemned(site: Site, tank: str, value: float) -> None:
    """A look out of band with a meter that failed its check afterwards."""
    at = site.now()
    entry = Entry("reading", "AB", at, at, tank, "ph", "")
    why = JudgedAs("band", f"pH {value:.2f}, band 7.00 - 7.60")
    site.record(entry, Reading(value, f"{value:g}", instrument="P", flag=Flag.WATCH), why)
    mark = Entry("suspect", "AB", at, at, "site", "ph", "", reason="failed")
    site.record(mark, Suspect("P", at.utc - 3600, at.utc + 1))


def test_what_a_failed_check_condemned_is_the_meters_and_no_look_of_a_limit(site: Site) -> None:
    condemned(site, "T05", 7.95)
    found = learned(site)
    assert [one.followed for one in found.flags if one.since == site.now()] == [Followed.METER]
    known = ph_of_t05(site)
    assert (len(known.flags), known.again) == (10, 9)
    assert tried(site, known, low=6.9, high=7.9).flags == 2


def test_a_first_reading_that_would_have_been_in_band_asks_for_no_second(site: Site) -> None:
    at = site.now()
    entry = Entry("reading", "AB", at, at, "T05", "ph", "")
    site.record(entry, Reading(7.8, "7.8", flag=Flag.WATCH), JudgedAs("band", "pH 7.80"))
    site.record(
        entry, Reading(7.95, "7.95", flag=Flag.WATCH, recheck=True), JudgedAs("band", "pH 7.95")
    )
    assert tried(site, ph_of_t05(site), high=7.9).flags == 2
    assert tried(site, ph_of_t05(site), high=7.7).flags > 2


def test_the_looks_are_shown_with_the_flags_they_would_have_had(site: Site) -> None:
    found = tried(site, ph_of_t05(site), low=6.9, high=7.9)
    assert sum(one.flag >= Flag.WATCH for one in found.series.looks) == 2
    assert {band.limits.watch_above for band in found.series.bands if band.limits} == {7.9}


@pytest.mark.parametrize(
    ("event", "reason", "followed"),
    [
        ("close", "looked: all is well", Followed.DISMISSED),
        ("close", "part of the plan", Followed.DISMISSED),
        ("close", "turned the valve, good again", Followed.ACTED),
        ("shelve", "known, and worked on", Followed.ACTED),
        ("shelve", "the meter, not the fish", Followed.METER),
        ("shelve", "planned work", Followed.DISMISSED),
    ],
)
def test_a_reason_says_whether_there_was_something(
    site: Site, event: str, reason: str, followed: Followed
) -> None:
    at = site.now()
    site.record(
        Entry("reading", "AB", at, at, "T02", "ph", ""), Reading(7.7, "7.7", flag=Flag.WATCH)
    )
    until = at.utc + 3600 if event == "shelve" else None
    site.record(
        Entry("flag", "AB", at, at, "T02", "ph", "", reason=reason), FlagEvent(event, None, until)
    )
    (found,) = (one for one in learned(site).flags if one.places == ("T02",))
    assert (found.followed, found.who) == (followed, "AB")


def test_a_flag_of_today_that_nobody_answered_stands_and_is_not_false(site: Site) -> None:
    at = site.now()
    site.record(
        Entry("reading", "AB", at, at, "T02", "ph", ""), Reading(7.7, "7.7", flag=Flag.WATCH)
    )
    (found,) = (one for one in learned(site).flags if one.places == ("T02",))
    assert found.followed is Followed.STANDS
    assert not found.false


def test_a_limit_that_would_hide_what_stands_now_says_so(site: Site) -> None:
    at = site.now()
    entry = Entry("reading", "AB", at, at, "T05", "ph", "")
    site.record(entry, Reading(7.8, "7.8", flag=Flag.WATCH), JudgedAs("band", "pH 7.80, band"))
    found = tried(site, ph_of_t05(site), high=7.9)
    assert [one.followed for one in found.lost] == [Followed.STANDS]
    assert foretold(found).endswith(
        "the 1 acted on is still told. NOT told: what stands now, Sun 10 May 16:00, pH 7.80."
    )


# ---- limits that are refused


@pytest.mark.parametrize(
    ("low", "high", "why"),
    [
        (6.4, None, "beyond 6.50, ACT of this band"),
        (None, 8.3, "beyond 8.20, ACT of this band"),
        (7.7, None, "7.70, is not below the highest, 7.60"),
        (7.0, 7.6, "These are the limits that hold"),
        (None, None, "These are the limits that hold"),
    ],
)
def test_a_limit_that_makes_no_sense_or_hides_danger_is_refused(
    site: Site, low: float | None, high: float | None, why: str
) -> None:
    with pytest.raises(Refusal, match=why.replace(".", r"\.")):
        tried(site, ph_of_t05(site), low=low, high=high)


def test_a_limit_beyond_where_the_species_profile_acts_is_refused(tmp_path: Path) -> None:
    wide = PLAN.replace("act_below = 6.5\n", "act_below = 5.5\n").replace(
        "urgent_below = 6.0", "urgent_below = 5.0"
    )
    with ph_room(tmp_path / "wide", wide) as site:
        with pytest.raises(Refusal, match="where the species' profile acts"):
            tried(site, ph_of_t05(site), low=5.8)
        assert tried(site, ph_of_t05(site), low=6.6).flags == 8


def test_what_has_no_band_has_no_limit_to_move(site: Site) -> None:
    with pytest.raises(Refusal, match="is no tank"):
        trying.case(site, "T99", "ph", window(site, site.now(), 30))
    with pytest.raises(Refusal, match="is no item"):
        trying.case(site, "T05", "gold", window(site, site.now(), 30))


def test_a_band_around_a_target_is_moved_by_its_distance(site: Site) -> None:
    at = moment(NOW)
    site.record(Entry("reading", "AB", at, at, "T01", "temp", "degC"), Reading(19.2, "19.2"))
    known = trying.case(site, "T01", "temp", window(site, site.now(), 30))
    assert known.again == 1
    assert tried(site, known, within=1.5).flags == 0
    with pytest.raises(Refusal, match="beyond"):
        tried(site, known, within=2.5)
    with pytest.raises(Refusal, match="lies around a target"):
        tried(site, known, low=17.0)


# ---- written into the plan


def written(site: Site, who: str = "MV", why: str = "this tank is always so") -> None:
    changing.write(site, ph_of_t05(site), {"watch_below": 6.9, "watch_above": 7.9}, who, why)


def limits(site: Site, tank: str) -> tuple[float | None, float | None, float | None]:
    band = band_at(site.plan, site.plan.item("ph"), tank, site.now().day)
    assert band is not None
    return band.limits.watch_below, band.limits.watch_above, band.limits.urgent_below


def test_a_lead_writes_the_limit_into_the_plan_for_this_tank_alone(site: Site) -> None:
    before = (site.folder / "plan.toml").read_text()
    written(site)
    after = (site.folder / "plan.toml").read_text()
    assert after.startswith(before)
    assert limits(site, "T05") == (6.9, 7.9, 6.0)
    assert limits(site, "T04") == (7.0, 7.6, 6.0)
    band = band_at(site.plan, site.plan.item("ph"), "T05", site.now().day)
    assert band is not None
    assert (band.owner, band.source) == ("MV", "common practice at this site, 2026-05-10")
    assert 'note = "this tank is always so"' in after
    newest = site.reader.spine.plans(1)[0]
    assert (newest.text, newest.who, newest.reason) == (after, "MV", "this tank is always so")
    assert ph_of_t05(site).again == 2


def test_a_limit_written_twice_changes_the_band_of_the_tank_and_keeps_comments(site: Site) -> None:
    written(site)
    file = site.folder / "plan.toml"
    known = ph_of_t05(site)
    changing.write(site, known, {"watch_above": 7.8}, "MV", "agreed with the veterinarian")
    text = file.read_text()
    assert text.count('tank = "T05"') == 1
    assert limits(site, "T05") == (6.9, 7.8, 6.0)
    assert "watch_above = 7.6   # as of old" in text
    assert "This comment stays." in text
    assert 'note = "agreed with the veterinarian"' in text


def test_a_limit_holds_for_the_ages_of_the_band_it_was_made_from(tmp_path: Path) -> None:
    theirs = PLAN[: PLAN.index('[[band]]\nitem = "temp"')]
    with ph_room(tmp_path / "profile", theirs) as site:
        known = trying.case(site, "T01", "temp", window(site, site.now(), 30))
        assert known.rule.dph is not None
        now, act = known.band.limits.watch_above, known.band.limits.act_above
        assert now is not None
        assert act is not None
        changing.write(site, known, {"watch_above": (now + act) / 2}, "MV", "agreed")
        first, last = known.rule.dph
        text = (site.folder / "plan.toml").read_text()
        assert f'tank = "T01"\ndph = [{first}, {last}]\n' in text
        item, after = site.plan.item("temp"), site.now().day + timedelta(days=last)
        assert band_at(site.plan, item, "T01", after) == band_at(site.plan, item, "T02", after)


def test_a_comment_behind_a_number_stays_when_the_number_is_moved(tmp_path: Path) -> None:
    own = PLAN.replace('item = "ph"\nwatch_below', 'item = "ph"\ntank = "T05"\nwatch_below')
    with ph_room(tmp_path / "own", own) as site:
        written(site)
        text = (site.folder / "plan.toml").read_text()
        assert "watch_above = 7.9   # as of old\n" in text
        assert limits(site, "T05") == (6.9, 7.9, 6.0)


def test_only_a_lead_writes_a_limit_and_says_why(site: Site) -> None:
    before = (site.folder / "plan.toml").read_bytes()
    with pytest.raises(Refusal, match=r"the lead's \(MV\), and AB is none"):
        written(site, who="AB")
    with pytest.raises(Refusal, match="A reason is needed"):
        written(site, why="  ")
    assert (site.folder / "plan.toml").read_bytes() == before
    assert site.reader.spine.plans(9)[0].reason is None


def test_a_plan_that_was_changed_by_hand_meanwhile_is_not_written_over(site: Site) -> None:
    file = site.folder / "plan.toml"
    file.write_text(file.read_text() + "# by hand\n")
    last = site.reader.spine.last_number()
    with pytest.raises(Refusal, match="was changed since this program read it"):
        written(site)
    assert file.read_text().endswith("# by hand\n")
    assert site.reader.spine.last_number() == last


def test_the_newest_change_is_taken_back_and_no_other(site: Site) -> None:
    file = site.folder / "plan.toml"
    before = file.read_text()
    with pytest.raises(Refusal, match="nothing to undo"):
        changing.take_back(site, "MV")
    written(site)
    with pytest.raises(Refusal, match="the lead's"):
        changing.take_back(site, "AB")
    changing.take_back(site, "MV")
    assert file.read_text() == before
    assert limits(site, "T05") == (7.0, 7.6, 6.0)
    assert len(site.reader.spine.plans(9)) == 3
    with pytest.raises(Refusal, match="nothing to undo"):
        changing.take_back(site, "MV")


def test_where_the_file_cannot_be_written_the_record_keeps_nothing(
    site: Site, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(self: Path, target: Path) -> Path:
        raise OSError(28, "No space left on device")

    last = site.reader.spine.last_number()
    monkeypatch.setattr(Path, "replace", full)
    with pytest.raises(Refusal, match="No space left"):
        written(site)
    assert site.reader.spine.last_number() == last
    assert limits(site, "T05") == (7.0, 7.6, 6.0)
    assert not list(site.folder.glob("*.partial"))
