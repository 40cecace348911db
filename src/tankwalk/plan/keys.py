"""The words of plan.toml: each table and its keys, with an example of each for the mend."""

from __future__ import annotations

KEYS: dict[str, dict[str, str]] = {
    "site": {
        "name": '"My hatchery room"',
        "zone": '"America/Chicago"',
        "elevation": '"260 m"',
        "emergency": '"MV, lead, 555-0100"',
        "rehearsal": '"2026-05-10T06:50-05:00"',
        "parts_age": '"2 h"',
    },
    "person": {
        "initials": '"JQ"',
        "name": '"J. Q."',
        "role": '"morning technician"',
        "phone": '"555-0100"',
        "duty": '"study owner"',
    },
    "on_call": {
        "who": '"CD"',
        "from": '"17:00"',
        "to": '"07:00"',
        "weekdays": '["Mon", "Tue", "Wed", "Thu", "Fri"]',
    },
    "looks": {"watch": '"2 h"', "act": '"30 min"', "urgent": '"5 min"'},
    "loop": {"code": '"L1"', "label": '"Loop 1"', "volume": '"3600 L"'},
    "lot": {"code": '"S26"', "species": '"sauger"', "hatched": "2026-04-16"},
    "treatment": {"code": '"E10"', "label": '"dry feed from 10 dph"'},
    "tank": {
        "code": '"T01"',
        "loop": '"L1"',
        "volume": '"220 L"',
        "shape": '"cylinder"',
        "diameter": '"75 cm"',
        "height": '"50 cm"',
        "top": '"80 cm"',
        "bottom": '"60 cm"',
        "length": '"100 cm"',
        "width": '"50 cm"',
        "cone_height": '"20 cm"',
        "depth": '"45 cm"',
        "lot": '"S26"',
        "treatment": '"E10"',
        "block": '"A"',
        "where": '"by the door"',
        "quarantine": "true",
    },
    "instrument": {
        "code": '"A"',
        "kind": '"oxygen meter"',
        "label": '"gray case"',
        "tanks": '["T01", "T02"]',
        "check": '"moist air"',
        "checks": '"do"',
        "reference": "100",
        "within": "2",
        "check_unit": '"%"',
        "check_every": '"1 d"',
    },
    "item": {
        "code": '"temp"',
        "label": '"Temperature"',
        "kind": '"number"',
        "level": '"tank"',
        "unit": '"degC"',
        "decimals": "1",
        "plausible": "[-1, 35]",
        "instrument": '"oxygen meter"',
        "every": '"7 d"',
        "dph": "[0, 30]",
        "choices": '["clean", "cleaned", "fouled"]',
        "watch_on": '["cleaned"]',
        "act_on": '["fouled"]',
        "act_dph": "[2, 14]",
        "when_low": '["Check the flow", "hold the feed"]',
        "when_high": '["Turn off the heater", "check the chiller"]',
        "when": '{fouled = ["Brush it", "look in the drain"]}',
        "first_response": '"Check the flow."',
        "deadband": "0.2",
        "see": '["screen"]',
        "hazard": '"electricity"',
        "look_watch": '"2 h"',
        "look_act": '"30 min"',
        "look_urgent": '"5 min"',
    },
    "checklist": {
        "code": '"am"',
        "label": '"Morning round"',
        "at": '"06:50"',
        "glance": '"glance"',
        "site": '["alarm"]',
        "loop": '["sump"]',
        "tank": '["temp", "do"]',
        "weekdays": '["Mon", "Thu"]',
    },
    "product": {
        "code": '"FORM"',
        "label": '"formalin 37 %"',
        "kind": '"bath"',
        "strength": '"37 %"',
        "gravity": "1.08",
        "label_doses": '"product"',
        "form": '"pentahydrate"',
        "ceiling": '"100 mg/L"',
        "source": '"label on the drum"',
    },
    "feed": {
        "code": '"D1"',
        "label": '"dry feed, 200 um"',
        "treatment": '"E10"',
        "dph": "[10, 60]",
    },
    "meal": {"at": '"08:00"', "weekdays": '["Sat", "Sun"]'},
    "sampling": {
        "what": '"length"',
        "label": '"Length, 20 fish"',
        "every": '"4 d"',
        "dph": "[5, 60]",
    },
    "band": {
        "item": '"temp"',
        "target": "16.0",
        "ramp": "[{on = 2026-04-20, target = 16.0}, {on = 2026-05-09, target = 18.5}]",
        "watch_within": "1.0",
        "act_within": "2.0",
        "urgent_within": "4.0",
        "watch_within_percent": "15",
        "act_within_percent": "30",
        "watch_below": "7.0",
        "watch_above": "9.0",
        "act_below": "6.0",
        "act_above": "10.0",
        "urgent_below": "5.0",
        "urgent_above": "11.0",
        "watch_change": "1.0",
        "act_change": "2.0",
        "change_way": '"fall"',
        "sees": "0.02",
        "tank": '"T01"',
        "treatment": '"E10"',
        "loop": '"L1"',
        "species": '"sauger"',
        "dph": "[0, 30]",
        "owner": '"TS"',
        "source": '"lab protocol 12"',
        "dated": "2026-04-01",
        "note": '"agreed at the spring meeting"',
    },
    "notes": {"canned": '["siphoned late"]'},
}
"""Every table of a plan, every key in it, and how one is written."""

SEED_KEYS: dict[str, dict[str, str]] = {
    "profile": {"species": '"sauger"', "label": '"Sauger"'},
    "stage": {"name": '"first feeding"', "dph": "[5, 14]"},
    "seed": {"stage": '"first feeding"'}
    | {key: how for key, how in KEYS["band"].items() if key not in ("tank", "treatment", "loop")},
}
"""Tables of a shipped species profile; its bands may name a stage instead of an age."""

ONCE = ("site", "looks", "notes")
"""Tables there is one of, written [site]; all others are written [[tank]], one for each."""


def example(table: str, key: str) -> str:
    """How a key is written, "volume = "220 L""."""
    return f"{key} = {(KEYS | SEED_KEYS).get(table, {}).get(key, '...')}"


def header(table: str) -> str:
    """How the header of a table is written."""
    return f"[{table}]" if table in ONCE else f"[[{table}]]"
