"""What stands where nothing is typed: the usual values of the contract, and no others."""

from __future__ import annotations

from tankwalk.science.calculators import ALL

USUAL: dict[str, dict[str, float | str]] = {
    "ammonia": {"salinity": 0, "scale": "nbs"},
    "ammonia-limit": {"salinity": 0},
    "oxygen-saturation": {"salinity": 0},
    "oxygen-percent": {"salinity": 0},
    "oxygen-from-percent": {"salinity": 0},
    "air-pressure": {"sea_level": 760},
    "gas-pressure": {"pressure": 760, "salinity": 0, "depth": 0},
    "conductivity-25": {"coefficient": 0.0191},
    "water-density": {"salinity": 0},
    "salt-dose": {"temperature": 20, "purity": 1},
    "bicarbonate-dose": {"purity": 1},
    "bicarbonate-rise": {"purity": 1},
    "chloride-for-nitrite": {"chloride": 0, "purity": 1},
    "chlorine-strength": {"gravity": 1},
    "chlorine-neutralize": {"reaction": "tetrathionate", "salt": "pentahydrate"},
    "dilution": {"what": "other"},
    "bath": {"active": 1},
    "bath-flow": {"active": 1},
    "anesthetic-bath": {"active": 1},
    "ammonia-load": {"inflow": 0, "factor": 0.092},
    "decapsulation": {"chlorine": 0.5, "caustic": 0.15, "total": 14.0},
    "cysts-needed": {"recovery": 1, "density": 2.0},
    "aliquot": {"dilution": 1},
    "prey-washout": {"eaten": 0},
    "prey-day": {"eaten": 0},
    "feed-lasts": {"delivery": 0, "reserve": 0},
    "degree-days": {"base": 0.0},
    "feed-conversion": {"dead": 0.0},
    "count-gap": {"sampled": 0.0, "culled": 0.0, "in": 0.0, "out": 0.0},
    "proportion": {"confidence": 0.95, "method": "wilson"},
    "count-limits": {"confidence": 0.95},
    "mortality-limit": {"quantile": 0.99},
    "ewma": {"weight": 0.3},
    "caustic-dose": {"purity": 1},
    "algae-count": {"squares": 4, "dilution": 1, "depth": 0.1},
    "algae-feed": {"residual": 0},
    "enrichment-dose": {"feedings": 1},
    "egg-number": {"trough": 12 * 25.4},
    "mix-waters": {"salinity": 0, "added_salinity": 0},
    "degree-days-to": {"done": 0, "base": 0},
    "count-needed": {"confidence": 0.95},
    "tanks-needed": {"power": 0.8, "alpha": 0.05, "groups": 2},
}


def test_the_usual_values_are_those_of_the_contract() -> None:
    found = {
        one.name: usual
        for one in ALL.values()
        if (usual := {i.key: i.default for i in one.inputs if i.default is not None})
    }
    assert found == USUAL
