"""Words and codes: what those of the plan stand for, and what the words of the trade mean.

A page's help lists those that the page shows, so that nobody has to ask what M14 or L18 is.
"""

from __future__ import annotations

from tankwalk.clock import Instant
from tankwalk.plan.model import Plan
from tankwalk.rows import NamedTuple


class Word(NamedTuple):
    """A word or code, and what it stands for."""

    word: str
    means: str


PAGES_OF_FISH = (
    "board", "walk", "handover", "open", "flag", "workings", "working", "tank", "stock",
    "stocktank", "samples", "sample", "trial", "season", "find",
)  # fmt: skip

NUMBERS = ("stock", "stocktank", "trial", "season")
"""Pages of how many fish there are, and became of them."""

SIZES = ("samples", "sample", "trial")
"""Pages of how large fish are."""

PAGES_OF_DUTY = ("board", "handover", "open")
SUMS = ("workings", "working")

SUSPECT = "read by a meter that failed its check later; nothing is changed or lost"

TRADE: tuple[tuple[tuple[str, ...], str, str], ...] = (
    (PAGES_OF_FISH, "dph", "days post hatch; 0 is the day half the lot had hatched"),
    (PAGES_OF_FISH, "lot", "fish of one hatch; eggs and cysts have lots too"),
    (("board", "walk", "handover", "trial", "tank"), "block",
     "tanks that stand together, one of each treatment: a row of the room"),
    (("board", "walk", "handover"), "h, d", "hours and days: 16h, 9 d"),
    (("board", "handover", "livefeed"), "cone",
     "a hatching cone of Artemia, by its code; set to harvest"),
    (("board", "handover", "livefeed", "batch"), "instar II",
     "the second stage of Artemia: it has eaten of its yolk, so it feeds fish less"),
    (("livefeed", "batch"), "nauplii", "Artemia just hatched; counted in thousands"),
    (("livefeed", "batch"), "hatch", "of all the cysts that were set, the percent that hatched"),
    (("livefeed",), "shelled cysts", "cysts without their shells, kept cold or in brine"),
    (("livefeed",), "no backup", "a culture of which there is no second vessel"),
    (PAGES_OF_DUTY, "deviation",
     "what was not done as the study plan says; the study owner decides on it"),
    (PAGES_OF_DUTY, "altered", "anything not as normal, until it is put back"),
    ((*PAGES_OF_DUTY, "flag"), "shelved",
     "a flag out of sight until a time, with a reason; it comes back by itself"),
    (("handover", "open"), "shift", "from one taking of the room to the next"),
    (("walk",), "glance", "a lap by eye before any number, to find an emergency"),
    (("walk", "flag"), "confirmed", "a second reading found the same: it happened, and stays"),
    (("walk", "handover", "flag"), "withdrawn",
     "taken back with reason and name; it stays readable"),
    (("walk", *SUMS), "nbs", "the scale a pH meter is set on with bought buffers (NBS, now NIST)"),
    ((*SUMS, *NUMBERS), "book", "fish stocked, less all that was seen to go: an upper guess"),
    (NUMBERS, "census", "fish counted alive at one moment, all of them or by sub-samples"),
    (NUMBERS, "spread", "the +/- is by how sub-samples differ (Student's t), wider than by chance"),
    (NUMBERS, "chance", "the +/- is by the fish counted alone (Poisson), wider than by spread"),
    ((*SUMS, *NUMBERS), "best", "the last census, less what was seen to go since: rates use this"),
    (NUMBERS, "unaccounted", "the book at the census less the census: never seen to go"),
    (("trial", "season", "samples"), "treatment", "one way of keeping the fish that is compared"),
    (("trial", "season"), "n = tanks",
     "what is compared is the tank: fish of one tank share its water and are one value"),
    (SIZES, "K", "condition: mass by length cubed; plump fish have more"),
    (SIZES, "CV", "spread as a percent of the mean: SD by mean"),
    (SIZES, "SGR", "specific growth rate: percent of its mass a fish gains a day"),
    (SIZES, "TGC", "thermal growth coefficient: growth by degree-days, to compare temperatures"),
    (("season",), "FCR",
     "feed conversion ratio: g of feed for a g of fish gained, where all feed is counted"),
    (("season",), "biomass", "best estimate of the fish times their mean mass"),
    (("find",), "amended", "corrected or taken back since; it stays readable, struck through"),
    (("handover", *SUMS), "entry", "every entry of the record has a number that never changes"),
    (("meters", "meter"), "as found", "read before anything is set; as left: after it"),
    (("walk",), "? at a number", SUSPECT),
    (("meters", "meter"), "suspect", SUSPECT),
)  # fmt: skip
"""Words that pages use, and the pages that use them."""


def general(scope: str) -> list[Word]:
    """Words of the trade and of this program that a page uses."""
    return [Word(word, means) for scopes, word, means in TRADE if scope in scopes]


def codes(plan: Plan, scope: str, now: Instant) -> list[tuple[str, list[Word]]]:
    """Codes of the plan that a page shows, by kind."""
    found = [("People", [Word(p.initials, _person(p.name, p.role or p.duty)) for p in plan.people])]
    if scope in PAGES_OF_FISH:
        found += [
            (
                "Treatments",
                [Word(t.code, t.label or "no name in the plan") for t in plan.treatments],
            ),
            ("Lots", [Word(lot.code, _lot(lot.species, lot.dph(now.day))) for lot in plan.lots]),
            ("Loops", [Word(loop.code, loop.label or "shared water") for loop in plan.loops]),
            ("Feeds", _feeds(plan)),
        ]
    if scope in ("walk", "meters", "meter", "board", "handover"):
        found.append(("Meters", [Word(m.code, m.label or m.kind) for m in plan.instruments]))
    return [(kind, words) for kind, words in found if words]


def _person(name: str, duty: str) -> str:
    return f"{name}, {duty}" if name else duty


def _lot(species: str, dph: int | None) -> str:
    return f"{species}, not hatched yet" if dph is None else f"{species}, {dph} dph today"


def _feeds(plan: Plan) -> list[Word]:
    return list({feed.code: Word(feed.code, feed.label) for feed in plan.feeds}.values())
