"""What can be entered in the record: the spine's entry and one small value a kind."""

from __future__ import annotations

from tankwalk.clock import Instant
from tankwalk.rows import NamedTuple


class Entry(NamedTuple):
    """One line of the record as handed in; the ledger adds number, station and digest.

    `place` is a tank's, loop's or the site's code; `amends` the number of the entry it corrects.
    """

    kind: str
    who: str
    observed: Instant
    recorded: Instant
    place: str | None = None
    item: str | None = None
    unit: str = ""
    round: int | None = None
    amends: int | None = None
    reason: str | None = None


class Reading(NamedTuple):
    """One value of one item. `value` is in the entry's unit; None when not taken.

    `qualifier` is "<" for below detection, or why it was not taken; `band` the limits in force,
    as JSON; `flag` 0 ok, 1 check, 2 watch, 3 act, 4 urgent.
    """

    value: float | None
    typed: str
    typed_unit: str | None = None
    qualifier: str | None = None
    instrument: str | None = None
    band: str | None = None
    flag: int = 0
    recheck: bool = False


class Mort(NamedTuple):
    """How many of the dead of one count had one cause."""

    cause: str
    fish: int


class Round(NamedTuple):
    """A round was opened, taken up again, or signed (with what the signature means)."""

    number: int
    checklist: str
    event: str
    meaning: str | None = None


class Note(NamedTuple):
    """Words about a place, or about one item there."""

    text: str


class PlanVersion(NamedTuple):
    """The plan in force from this entry on."""

    digest: str
    text: str


class Movement(NamedTuple):
    """Fish in or out of a tank, or a census; `plus_minus` in fish, 95 % either way.

    `what` is a word of `stock.What`.
    """

    what: str
    fish: int
    plus_minus: float | None = None
    method: str | None = None
    other_place: str | None = None


class Meal(NamedTuple):
    """Feed given, or a planned pause; `left_over` is a score 0 to 3."""

    feed: str
    amount: float
    unit: str
    planned: float | None = None
    left_over: int | None = None
    event: str | None = None


class Served(NamedTuple):
    """The planned meal that a `Meal` belongs to, by its UTC second."""

    meal_at: int


class Poured(NamedTuple):
    """What of which batch went in with a `Meal`: mL, and how many are in one of them."""

    batch: str
    ml: float
    per_ml: float


class Sample(NamedTuple):
    """Fish looked at under the scope: how many, how many had it, or mean and spread."""

    what: str
    looked_at: int
    with_it: int | None = None
    mean: float | None = None
    sd: float | None = None
    unit: str | None = None


class Batch(NamedTuple):
    """Something happened to a live-feed batch; temperature in degC, salinity in g/kg."""

    batch: str
    event: str
    lot: str | None = None
    grams: float | None = None
    litres: float | None = None
    temperature: float | None = None
    ph: float | None = None
    salinity: float | None = None
    per_ml: float | None = None
    hatch_percent: float | None = None
    due_at: int | None = None
    text: str | None = None


class BatchOf(NamedTuple):
    """What a batch is, beside the `Batch` that begins it, and the batch or lot it was made from.

    `kind` is a word of `feeding.BatchKind`.
    """

    kind: str
    source: str | None = None


class Counted(NamedTuple):
    """Sub-samples as they were counted, beside what they tell of: numbers with blanks between.

    Each was `ml` of what had been diluted `dilution` times; `what` is a word of
    `feeding.CountOf`.
    """

    what: str
    ml: float
    dilution: float
    counts: str


class Calibration(NamedTuple):
    """A meter was checked: as found, and as left, against a reference."""

    instrument: str
    what: str
    reference: float | None
    as_found: float | None
    as_left: float | None
    unit: str | None
    passed: bool


class Dose(NamedTuple):
    """A chemical went in; `expected` is the change it should make."""

    chemical: str
    amount: float
    unit: str
    volume_l: float | None = None
    expected: float | None = None
    expected_unit: str | None = None


class FollowUp(NamedTuple):
    """An open action, or something altered that must be put back, and what became of it."""

    what: str
    event: str
    text: str
    owner: str | None = None
    due_at: int | None = None
    opened: int | None = None


class Handover(NamedTuple):
    """The room was given, or taken, with the words of the page."""

    event: str
    text: str
    how: str | None = None
    given: int | None = None


class Derived(NamedTuple):
    """How a reading was worked out: calculator, equation, and what the plan gave (as JSON)."""

    calculator: str
    equation: str
    facts: str


class Part(NamedTuple):
    """A reading that a derived one was worked out from, by the input it fills."""

    input: str
    of: int


class JudgedAs(NamedTuple):
    """Why a reading was flagged: the rule that spoke, and its sentence."""

    rule: str
    sentence: str


class FlagEvent(NamedTuple):
    """What became of a flag: a person closed it, shelved it until a UTC second, or took it back;
    a whole round raised it, or found it no more ("raise", "end": with a `FoundFlag`).

    The entry's place and item name the flag; `instrument` that of a flag that names a meter.
    """

    event: str
    instrument: str | None = None
    until_at: int | None = None


class FoundFlag(NamedTuple):
    """The flag of a whole round that a `FlagEvent` is about: of what, by which rule, how serious.

    `kind` and `code` name it with the entry's item; `places` are codes with blanks between.
    """

    kind: str
    code: str
    rule: str
    level: int
    sentence: str
    response: str
    places: str


class Suspect(NamedTuple):
    """Readings of the entry's item with this meter, between two UTC seconds, are not to be trusted.

    None of them is changed; taking the entry back takes the mark from all of them.
    """

    instrument: str
    since_at: int
    until_at: int


class Closing(NamedTuple):
    """Who may close the follow-up it stands beside, by rule; `about`: what it was drafted from."""

    rule: str
    about: str | None = None


class SaidBack(NamedTuple):
    """What the one who takes the room answered, and at which try it was right."""

    question: str
    answer: str
    tries: int


class HandoverGist(NamedTuple):
    """What a section of a page that was given says first, told again to whom comes after days."""

    section: str
    text: str


class DoneAbout(NamedTuple):
    """What a person did about a flag: a step of its item by number, or words of their own.

    The entry's place and item name the flag; `flagged` is the reading behind it.
    """

    text: str
    step: int | None = None
    flagged: int | None = None


class Call(NamedTuple):
    """A call about the entry's place: whom, at which number, whether reached, and what was said."""

    whom: str
    phone: str
    reached: bool
    said: str | None = None


class Look(NamedTuple):
    """A look at a few items of the entry's place, a small round of its own: opened, or signed.

    `number` is one of the numbers of rounds; `items` are codes with blanks between.
    """

    number: int
    event: str
    items: str


class Sitting(NamedTuple):
    """Fish of the entry's place are looked at one by one: opened, or ended.

    `what` are codes with blanks between, `planned` how many fish; at the end `opened` is the entry
    that opened it, and `fate` whether the fish were "returned" or "kept".
    """

    event: str
    what: str
    planned: int
    opened: int | None = None
    fate: str | None = None


class Fish(NamedTuple):
    """One fish of a sitting (the entry that opened it): length in mm, mass in mg, what it had.

    `left_out` is why it stays out of the sums; None where it counts.
    """

    sitting: int
    nth: int
    length: float | None = None
    mass: float | None = None
    bladder: int | None = None
    gut: int | None = None
    deformed: int | None = None
    left_out: str | None = None


class Transcribed(NamedTuple):
    """The entry it stands beside was typed in later from paper; the entry's person saw it."""

    typist: str


class SheetStop(NamedTuple):
    """When a stop of round `number` was walked, by its paper sheet, and by whom.

    `stop` is the kind of stop, of the entry's place; `at` a UTC second.
    """

    number: int
    stop: str
    at: int
    walker: str


class SecondEntry(NamedTuple):
    """A value of a paper sheet typed a second time, which came to the same as entry `of`."""

    of: int
    typed: str


class ImportFile(NamedTuple):
    """A file that was imported: what it is of, its name and digest, and how it was read (JSON).

    `head` are the words of its head, by which another file of its kind is known again; `kept` and
    `refused` are values.
    """

    source: str
    file: str
    digest: str
    head: str
    understood: str
    kept: int
    refused: int


class Series(NamedTuple):
    """The values of one item at one place in a file that was imported, without the values.

    They stand in the table `imported`; `digest` is that of all of them (`series_sums.SeriesSum`).
    """

    nth: int
    place: str
    item: str
    unit: str
    kept: int
    first_at: int
    last_at: int
    digest: str


Detail = (
    Reading
    | Mort
    | Round
    | Note
    | PlanVersion
    | Movement
    | Meal
    | Sample
    | Batch
    | Calibration
    | Dose
    | FollowUp
    | Handover
    | Derived
    | Part
    | JudgedAs
    | FlagEvent
    | FoundFlag
    | Suspect
    | Closing
    | SaidBack
    | HandoverGist
    | DoneAbout
    | Call
    | Look
    | Served
    | Poured
    | BatchOf
    | Counted
    | Sitting
    | Fish
    | Transcribed
    | SheetStop
    | SecondEntry
    | ImportFile
    | Series
)

TABLE: dict[type[Detail], str] = {
    Reading: "reading",
    Mort: "mort",
    Round: "round",
    Note: "note",
    PlanVersion: "plan_version",
    Movement: "movement",
    Meal: "meal",
    Sample: "sample",
    Batch: "batch",
    Calibration: "calibration",
    Dose: "dose",
    FollowUp: "follow_up",
    Handover: "handover",
    Derived: "derived",
    Part: "part",
    JudgedAs: "judged",
    FlagEvent: "flag_event",
    FoundFlag: "found",
    Suspect: "suspect",
    Closing: "closing",
    SaidBack: "said_back",
    HandoverGist: "handover_gist",
    DoneAbout: "done",
    Call: "call",
    Look: "look",
    Served: "served",
    Poured: "poured",
    BatchOf: "batch_of",
    Counted: "counted",
    Sitting: "sitting",
    Fish: "fish",
    Transcribed: "transcribed",
    SheetStop: "sheet_stop",
    SecondEntry: "second_entry",
    ImportFile: "import_file",
    Series: "series",
}
"""The table that keeps each kind of detail; columns have the names of the fields."""
