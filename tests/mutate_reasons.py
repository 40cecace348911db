"""Why a change of a number may go unnoticed, for tests/mutate.py.

Keyed by (module, the line without its indent, the number as written), so that a reason holds while
lines move and falls away when its line is rewritten.
"""

from __future__ import annotations

REASONS: dict[tuple[str, str, str], str] = {
    (
        "distributions",
        "_TIGHT = ulp(2)",
        "2",
    ): "a factor that changes nothing any more, a little sooner or later",
    (
        "distributions",
        "_HIGHEST_Z = 9",
        "9",
    ): "a quadrature that has steps and reach to spare: no digit of the sum moves",
    (
        "distributions",
        "_STEP_Z, _STEP_LOG, _STEP_SD = 0.2, 0.1, 0.35",
        "0.2",
    ): "a quadrature that has steps and reach to spare: no digit of the sum moves",
    (
        "distributions",
        "_STEP_Z, _STEP_LOG, _STEP_SD = 0.2, 0.1, 0.35",
        "0.1",
    ): "a quadrature that has steps and reach to spare: no digit of the sum moves",
    (
        "distributions",
        "_STEP_Z, _STEP_LOG, _STEP_SD = 0.2, 0.1, 0.35",
        "0.35",
    ): "a quadrature that has steps and reach to spare: no digit of the sum moves",
    (
        "distributions",
        "i = 0 if way > 0 else -1",
        "0",
    ): "a quadrature that has steps and reach to spare: no digit of the sum moves",
    (
        "distributions",
        "if p > 0.5:",
        "0.5",
    ): "both ways of working out are right on either side of this edge",
    ("distributions", "low, high = 0.0, 1.0", "1.0"): "where a search starts; it ends at the same",
}

JUDGEMENT: dict[tuple[str, str, str], str] = {
    (
        "plan/bands",
        "if target is None:",
        "taken never",
    ): "a way out early: a rule without a target has no distance either",
    (
        "practice/due/attendance",
        "planned = list(pairwise(looks(plan, first, first + timedelta(days=11))))",
        "11 to 22",
    ): "a week of these days is used, and where each has a look eleven hold more than that",
    (
        "practice/tasks",
        "days: float = 0.0",
        "0.0 to 1.0",
    ): "the default is of what was never done, of which no page says days",
    (
        "practice/judging/verdict",
        "low, high = item.plausible or (0.0, 0.0)",
        "0.0 to 1.0",
    ): "asked only of a number that cannot be, and only a plan's range says so",
    (
        "practice/judging/assess",
        "if self.passes().get(seen.instrument, 0) < row.at.utc:",
        "0 to 1",
    ): "a second after 1970: every look is later",
    (
        "practice/judging/verdict",
        'if (limits.change_way == "fall" and change > 0) or '
        '(limits.change_way == "rise" and change < 0):',
        "Lt to LtE",
    ): "what did not change has not changed too far either way",
    (
        "practice/judging/copied",
        "asked: bool = False",
        "False to True",
    ): "left to the default where no chance is known, and there nothing is asked at all",
    (
        "practice/judging/planned",
        "for at, then in zip(reversed(of.at), reversed(of.then), strict=True):",
        "True to False",
    ): "made of the same rows, one is as long as the other",
    (
        "practice/judging/seen_to",
        "if meter not in self._checks:",
        "taken always",
    ): "how often the record is asked the same within one answer, and not what it says",
    (
        "practice/judging/dead/model",
        "for tank, fish in here if len(here) > 1 else ():",
        "taken always",
    ): "a slot of one tank is fitted whole: nothing is left over, and 1 - 1 of 1 is counted",
    (
        "practice/judging/dead/model",
        "first = looks[0].first if looks else 0",
        "0 to 1",
    ): "it is asked of tanks that were counted since, which have looks",
    (
        "practice/judging/dead/mortality",
        "if now.fish >= mean or "
        "nb.at_most(now.fish, mean, variance) >= part * of.limits.few_chance:",
        "GtE to Gt",
    ): "at the mean itself half of all counts are no higher; a chance is never the tail to its end",
    (
        "practice/judging/model/evidence",
        "apart = (0.0 if mine is None else mine.evidence) - "
        "(0.0 if theirs is None else theirs.evidence)",
        "0.0 to 1.0",
    ): "who was held beside the others has as many looks alone, so that neither is missing",
    (
        "practice/judging/model/levels",
        "level = [middle_of(sorted(of)) for of in values]",
        "order reversed",
    ): "the middle of a row is the same from either end",
    (
        "practice/judging/model/levels",
        "spread = MAD_TO_SD * middle_of(sorted([abs(one - middle) for one in differences]))",
        "order reversed",
    ): "the middle of a row is the same from either end",
    (
        "practice/judging/model/levels",
        "middle = middle_of(sorted([value - level[nth] for value, nth in lasting]))",
        "order reversed",
    ): "the middle of a row is the same from either end",
    (
        "practice/judging/standing/condemned",
        "reach = int(3600 * self.site.plan.parts_age_hours)",
        "3600 to 7200",
    ): "a sieve: of what is let through besides the parts are looked up, and none is condemned",
    (
        "practice/judging/standing/flags",
        "if other is None:",
        "taken never",
    ): "a plan of which a `see` names an item that is not there is refused",
    (
        "practice/judging/standing/wrong_now",
        "if item.level is not Level.TANK:",
        "taken never",
    ): "a way out early: what is read of a loop or the site stands at no tank of a loop",
    (
        "ledger/chain",
        "if value is None:",
        "taken never",
    ): "a way out early: nothing below it changes a field that holds nothing",
    (
        "ledger/canonical",
        'parts = made(None, repr, encoder.encode_basestring, None, ":", ",", False, False, True)',
        "False to True",
    ): "how keys are sorted and skipped: what is hashed is a list and has none",
    (
        "ledger/inspect",
        "return lambda seen: progress(min(1.0, seen / newest))",
        "1.0 to 2.0",
    ): "a bar that is a little over whole, where another program writes while it is checked",
    (
        "ledger/store",
        "db.close()",
        "not done",
    ): "a connection that nobody holds is closed when it is forgotten",
    (
        "ledger/chain",
        'db.execute("PRAGMA cache_size = -16000")',
        "not done",
    ): "how fast it is, and not what it finds",
    (
        "ledger/chain",
        'if db.execute(f"SELECT count(*) FROM {table}").fetchone()[0] == hashed[table]:',
        "taken never",
    ): "a way out early: a table whose rows were all hashed has none that was added",
    (
        "practice/stock/dead",
        'return "" if item is None else item.unit',
        "taken always",
    ): "the plan's check knows no unit of fish, so that of the dead is none",
    (
        "practice/stock/dead",
        'return "" if item is None else item.unit',
        "Is to IsNot",
    ): "the plan's check knows no unit of fish, so that of the dead is none",
    (
        "ledger/migrations",
        "db.execute(schema.CARRY)",
        "not done",
    ): "done again with the guards, unless a plug is pulled between the two",
    (
        "practice/workings/doses",
        "expected = _number(done, says.expected) if says.expected else None",
        "taken always",
    ): "a way out early: of a key that is none no number is found",
    (
        "practice/workings/deriving",
        "Derived(item.derived, equation, json.dumps(facts, sort_keys=True)),",
        "True to False",
    ): "no working takes two facts of the plan that are not in that order already",
    (
        "ledger/append",
        "if known is not None:",
        "taken never",
    ): "a number that is kept in memory is looked up in the record instead, and is the same",
    (
        "ledger/store",
        "self._reading = False",
        "False to True",
    ): "before the first transaction there is none to end, and to end none does nothing",
    (
        "ledger/store",
        'if sys.platform == "darwin":',
        "Eq to NotEq",
    ): "a setting that other systems take no notice of",
}
"""The same for `--judgement`: keyed by (file, the line without its indent, what was changed)."""
