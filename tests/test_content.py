"""What is shipped as content: every band, first response and source of profiles and plans.

Limits checked here by number stand with their source in the profiles; "common practice" and
"from memory" are said there too. The three degrees that stages share are common practice.
"""

from __future__ import annotations

import re
from datetime import date
from itertools import pairwise
from pathlib import Path

import pytest

from site_support import SMALL, moment, opened
from tankwalk.pages import due_words
from tankwalk.plan import kinds
from tankwalk.plan.advice import advice, limited
from tankwalk.plan.bands import describe, resolve
from tankwalk.plan.derived import derived_items
from tankwalk.plan.load import PlanFaults, read_plan
from tankwalk.plan.model import Band, BandRule, Item, Limits, Plan, Profile, Side
from tankwalk.plan.responses import every, response
from tankwalk.plan.seeds import profiles, read_profile, species_shipped
from tankwalk.plan.start import start_text
from tankwalk.practice.due import all_due
from tankwalk.practice.judging.slips import Around
from tankwalk.practice.judging.verdict import Flag, Judged, judge

TODAY = date(2026, 4, 16)
START = start_text(TODAY, "America/Chicago")
LONGEST = 90
"""Characters of a first response: what is read at a glance with wet hands. Common practice."""

SPECIES = {profile.species: profile for profile in profiles()}
BANDS = [
    pytest.param(profile, rule, id=f"{profile.species} {rule.item} {rule.dph or ''}")
    for profile in SPECIES.values()
    for rule in profile.bands
]


def start_for(species: str) -> Plan:
    """The plan that a new site begins with, for one species."""
    return read_plan(START.replace('species = "sauger"', f'species = "{species}"'))


def rule_of(profile: Profile, item: str, age: int) -> BandRule:
    """The narrowest seed of an item at an age."""
    held = [
        rule
        for rule in profile.bands
        if rule.item == item and (rule.dph is None or rule.dph[0] <= age <= rule.dph[1])
    ]
    return max(held, key=lambda rule: rule.dph is not None)


# ---- each band


@pytest.mark.parametrize(("profile", "rule"), BANDS)
def test_a_band_says_where_it_is_from(profile: Profile, rule: BandRule) -> None:
    named = re.search(r"\b(19|20)\d\d\b", rule.source) or "Zakes" in rule.source
    textbook = "Clinical Guide to Fish Medicine" in rule.source or "abstract" in rule.source
    assert named or textbook or "common practice" in rule.source
    assert "undated" not in rule.source
    assert "handout" not in rule.source


@pytest.mark.parametrize(("profile", "rule"), BANDS)
def test_act_can_occur(profile: Profile, rule: BandRule) -> None:
    limits = rule.limits
    for act, urgent, way in (
        (limits.act_below, limits.urgent_below, -1),
        (limits.act_above, limits.urgent_above, 1),
    ):
        if act is not None and urgent is not None:
            assert (urgent - act) * way > 0


@pytest.mark.parametrize("species", species_shipped())
def test_there_is_something_to_do_first_on_each_side_that_has_a_limit(species: str) -> None:
    plan = start_for(species)
    assert [one for one in advice(plan) if one.table != "backup"] == []
    seeds = {rule.item for rule in SPECIES[species].bands}
    scores = {"film", "leftover"}  # asked in words by the plan
    unasked = {"no3n", "salinity", "density", *scores}
    worked_out = {item.code for item in plan.items if item.derived}
    assert seeds - {item.code for item in plan.items} <= unasked - worked_out


@pytest.mark.parametrize("species", species_shipped())
def test_neighboring_stages_share_three_degrees(species: str) -> None:
    profile = SPECIES[species]
    for before, after in pairwise(profile.stages):
        assert after.dph[0] == before.dph[1] + 1
        one = rule_of(profile, "temp", before.dph[0]).limits
        two = rule_of(profile, "temp", after.dph[0]).limits
        low = max(one.watch_below or 99, two.watch_below or 99)
        high = min(one.watch_above or 0, two.watch_above or 0)
        assert high - low >= 3.0, (before.name, after.name)
    assert profile.stages[-1].dph[1] == 90


def test_a_profile_whose_stages_do_not_meet_is_refused() -> None:
    stage = '[[stage]]\nname = "{}"\ndph = [{}, {}]\n'
    band = (
        '[[band]]\nitem = "temp"\nstage = "{}"\nwatch_below = {}\nwatch_above = {}\nsource = "x"\n'
    )
    text = 'species = "x"\nlabel = "X"\n' + stage.format("a", 0, 4) + stage.format("b", 5, 9)
    read_profile(text + band.format("a", 14, 18) + band.format("b", 15, 20))
    with pytest.raises(PlanFaults, match="share 2 degC"):
        read_profile(text + band.format("a", 14, 18) + band.format("b", 16, 20))


@pytest.mark.parametrize(
    ("species", "item", "age", "limits"),
    [
        ("walleye", "temp", 0, Limits(10, 18, 8, 20, 5, 24, 1.0)),
        ("walleye", "temp", 5, Limits(15, 22, 13, 24, 8, 26, 1.0)),
        ("sauger", "temp", 1, Limits(12, 18, 10, 20, 6, 24, 1.0)),
        ("pikeperch", "temp", 45, Limits(17, 24, 15, 26, 8, 28, 1.0)),
        ("yellow perch", "temp", 15, Limits(16, 21, 14, 23, 8, 26, 1.0)),
        ("yellow perch", "temp", 40, Limits(18, 24, 16, 26, 8, 28, 1.0)),
        ("walleye", "tgp", 30, Limits(None, 102, None, 103, None, 105)),
        ("walleye", "tgp", 31, Limits(None, 103, None, 105, None, 110)),
        ("sauger", "sat", 9, Limits(85, 105, 70, 110, 60, 120)),
        ("sauger", "no2n", 9, Limits(None, 0.1, None, 0.3, None, 1.0)),
        ("pikeperch", "no2n", 9, Limits(None, 0.06, None, 0.4, None, 1.0)),
        ("sauger", "nh3n", 9, Limits(None, 0.01, None, 0.021, None, 0.05)),
        ("sauger", "tan", 9, Limits(None, 0.5, None, 1.0)),
        ("sauger", "co2", 9, Limits(None, 10, None, 20, None, 30)),
        ("walleye", "turbidity", 24, Limits(20, 60, 12, 100)),
        ("yellow perch", "light", 35, Limits(100, 1000, None, 1500)),
        ("walleye", "light", 20, Limits(50, 700)),
        ("walleye", "light", 36, Limits(5, 50)),
        ("walleye", "density", 20, Limits(None, 40)),
        ("pikeperch", "density", 19, Limits(None, 15)),
    ],
)
def test_the_limits_are_those_of_their_sources(
    species: str, item: str, age: int, limits: Limits
) -> None:
    assert rule_of(SPECIES[species], item, age).limits == limits


def test_yellow_perch_has_a_band_of_its_own_at_every_age_from_hatch_to_juvenile() -> None:
    perch = SPECIES["yellow perch"]
    for age in range(91):
        assert rule_of(perch, "temp", age).dph is not None
    assert rule_of(perch, "dark", 5).limits.watch_above == 0, "any light at night counts"
    assert [stage.dph[0] for stage in perch.stages] == [0, 2, 13, 21, 36]


# ---- below detection


CHLORINE = Item("chlorine", "Total chlorine", unit="mg/L", decimals=2, plausible=(0, 5))


def chlorine(species: str, value: float, *, below: bool) -> Judged:
    band = resolve(rule_of(SPECIES[species], "chlorine", 9), TODAY)
    return judge(
        CHLORINE, value, f"{value:g}", band, None, moment("2026-05-10T07:00"), Around(),
        sure=True, below=below,
    )  # fmt: skip


@pytest.mark.parametrize("species", species_shipped())
@pytest.mark.parametrize(
    ("value", "below", "flag"),
    [
        (0.01, True, Flag.OK),
        (0.02, True, Flag.OK),  # not detected by a kit that sees enough
        (0.05, True, Flag.WATCH),  # by one that does not
        (0.0, False, Flag.OK),
        (0.01, False, Flag.ACT),
        (0.02, False, Flag.URGENT),
    ],
)
def test_a_clean_kit_never_shouts_and_a_number_read_always_does(
    species: str, value: float, below: bool, flag: Flag
) -> None:
    assert chlorine(species, value, below=below).flag is flag


@pytest.mark.parametrize("species", species_shipped())
def test_chlorine_that_was_read_is_not_guessed_away(species: str) -> None:
    band = resolve(rule_of(SPECIES[species], "chlorine", 9), TODAY)
    assert describe(band, CHLORINE) == "< 0.02"
    judged = judge(CHLORINE, 0.02, "0.02", band, None, moment("2026-05-10T07:00"), Around())
    assert (judged.flag, judged.question) == (Flag.URGENT, "")


def test_a_kit_that_sees_too_little_is_told_what_it_has_to_see() -> None:
    judged = chlorine("sauger", 0.05, below=True)
    assert judged.sentence == "Total chlorine below 0.05 mg/L: the kit has to see 0.02 mg/L"
    assert judged.first == "Use a finer kit: until then it is not known."


def test_below_detection_is_right_up_to_the_first_limit_and_too_low_can_still_be_too_low() -> None:
    now = moment("2026-05-10T07:00")
    nitrite = Item("no2n", "Nitrite", unit="mg/L as N", decimals=2, when_high=("stop the feed",))
    band = Band(Limits(watch_above=0.1, act_above=0.3), None, "our plan")
    fine = judge(nitrite, 0.1, "0.1", band, None, now, Around(), sure=True, below=True)
    coarse = judge(nitrite, 0.5, "0.5", band, None, now, Around(), sure=True, below=True)
    assert (fine.flag, coarse.flag) == (Flag.OK, Flag.WATCH)
    oxygen = Item("do", "Oxygen", unit="mg/L", when_low=("open the oxygen",))
    low = Band(Limits(watch_below=7.0, act_below=6.0), None, "our plan")
    found = judge(oxygen, 2.0, "2", low, None, now, Around(), sure=True, below=True)
    assert (found.flag, found.first) == (Flag.ACT, "Open the oxygen.")


# ---- first responses


def test_a_first_response_is_short() -> None:
    asked = start_for("sauger").items
    parts = [Item(code, code) for code in ("do", "temp", "ph", "tan", "alk", "flow", "morts")]
    shipped = [*asked, *derived_items(parts)]
    told = [(item.code, first) for item in shipped for first in every(item)]
    assert len(told) > 100
    for code, first in told:
        assert len(response(first.steps)) <= LONGEST, (code, first.words)


def test_a_low_distance_is_high_water_and_a_high_one_low_water() -> None:
    level = start_for("sauger").item("level")
    assert level.when_low[0].startswith("HIGH WATER")
    assert level.when_high[0].startswith("LOW WATER")


def test_nothing_that_is_too_high_is_answered_with_more_of_it() -> None:
    plan = start_for("sauger")
    for code in ("do", "sat"):
        assert "turn the oxygen down" in plan.item(code).when_high[0].casefold()
    assert "stop dosing" in plan.item("alk").when_high[0].casefold()
    pump = dict(plan.item("pump").when)
    assert "other pump" in response(pump["problem"])
    assert "other pump" not in response(pump["B duty"])


def test_scores_are_asked_in_words_and_a_film_counts_more_while_bladders_fill() -> None:
    film = start_for("sauger").item("film")
    assert film.kind is kinds.CHOICE
    patches = float(film.choices.index("patches"))
    flags = [
        judge(film.at_age(age), patches, "patches", None, None, moment("2026-05-10T07:00"),
              Around(), sure=True).flag
        for age in (1, 2, 14, 15, None)
    ]  # fmt: skip
    assert flags == [Flag.WATCH, Flag.ACT, Flag.ACT, Flag.WATCH, Flag.WATCH]


MISSING = (
    "lights dark tgp chloride makeup prey behavior response aeration callout o2load standby "
    "eyewash gfci generator netdip quarkit bleach makeupl htemp filters phslope tcheck dozero jug "
    "tanstd"
).split()


def test_what_was_missing_is_asked_by_the_plan_that_a_new_site_begins_with() -> None:
    plan = start_for("sauger")
    asked = {
        code for one in plan.checklists for code in (*one.site, *one.loop, *one.tank, one.glance)
    }
    assert set(MISSING) <= asked
    morning = plan.checklist("am")
    assert not {"tan", "no2n", "alk"} & set(morning.loop), "chemistry keeps no tank waiting"
    last = plan.checklist("night")
    assert "alarm" in last.site
    assert last.weekdays == (), "weekends too"


def test_a_new_room_is_told_of_its_weekly_checks_in_one_line(tmp_path: Path) -> None:
    with opened(tmp_path, START, "2026-04-16T07:02") as site:
        checks = all_due.due_checks(site, site.now(), {})
        told = [due_words.told(one, site.now()) for one in checks]
    assert ("Weekly checks, 16 checks, never done yet", "due") in told
    assert len(told) == 2  # and chloride, of the chemistry


# ---- what the check says


def test_a_band_whose_action_cannot_occur_is_refused() -> None:
    band = '\n[[band]]\nitem = "temp"\ntank = "T01"\nact_above = 26\nurgent_above = {}\n'
    read_plan(SMALL + band.format(28))
    with pytest.raises(PlanFaults, match="ACT cannot occur"):
        read_plan(SMALL + band.format(26))
    with pytest.raises(PlanFaults, match="act_above 35 is the end of what temp takes"):
        read_plan(SMALL + '\n[[band]]\nitem = "temp"\ntank = "T01"\nact_above = 35\n')


def test_a_plan_of_one_response_is_advised_to_split_it_and_a_silent_side_is_named() -> None:
    said = [str(one) for one in advice(read_plan(SMALL))]
    assert (
        "[[item]] temp: first_response is the same for too low and too high. "
        "Better: write when_low and when_high instead."
    ) in said
    assert (
        "[[item]] glance: first_response is the same for every word. "
        "Better: write when.odd and when.bad instead."
    ) in said
    one_sided = SMALL.replace(
        'first_response = "Check the heater."', 'when_low = "Check the heater."'
    )
    assert (
        "[[item]] temp: its band has a limit for too high, and it has no first response. "
        "Better: add when_high = [...]."
    ) in [str(one) for one in advice(read_plan(one_sided))]


def test_a_side_is_one_with_a_limit_or_a_change_that_way() -> None:
    assert limited(BandRule("alk", Limits(act_below=40))) == {Side.LOW}
    assert limited(BandRule("alk", Limits(watch_change=50, change_way="rise"))) == {Side.HIGH}
    assert limited(BandRule("temp", target=16.0, watch_within=1.0)) == {Side.LOW, Side.HIGH}
