"""Air: the vectors shared with the phone, and what must hold of every nozzle, receiver and leak."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.core.outcomes import outcome, refused, vectors
from webapp.core import air, air_purity

FUNCTIONS = {
    "nozzle_air": air.nozzle_air,
    "against": air.against,
    "nozzle_wear": air.nozzle_wear,
    "pump_up": air.pump_up,
    "leak_by_decay": air.leak_by_decay,
    "leak_by_loads": air.leak_by_loads,
    "receiver_energy": air.receiver_energy,
    "atmosphere_at": air.atmosphere_at,
    "duty": air.duty,
    "media_use": air.media_use,
    "purity": air_purity.purity,
    "purity_class": air_purity.purity_class,
}
PSI, KINDS = st.floats(1, 300), st.sampled_from(sorted(air.NOZZLES))
BORES = st.floats(0.02, 1)


@pytest.mark.parametrize("case", vectors("air"))
def test_vectors(case: dict[str, Any]) -> None:
    assert case["source"].strip()
    assert outcome(FUNCTIONS[case["in"]["fn"]], case["in"]["args"]) == case["out"]


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf, 0, -1, 1e300, "1", None, True])
def test_a_figure_that_cannot_be_is_refused_by_name(value: Any) -> None:
    nozzle = {"bore": 0.25, "pressure": 80, "kind": "blast", "units": "us"}
    assert refused(air.nozzle_air, nozzle | {"bore": value}) == "bore"
    assert refused(air.nozzle_air, nozzle | {"pressure": value}) == "pressure"
    assert refused(air.against, {"demand": 1, "delivered": value, "units": "us"}) == "delivered"
    test = {"volume": 80, "start": 10, "end": 100, "seconds": 60, "units": "us"}
    assert refused(air.pump_up, test | {"volume": value}) == "volume"
    assert refused(air.pump_up, test | {"seconds": value}) == "seconds"
    assert refused(air.pump_up, test | {"end": value}) == "end"
    assert refused(air.receiver_energy, {"volume": 80, "pressure": value, "units": "us"}) == "pressure"
    wear = {"new": 0.25, "now": value, "pressure": 80, "kind": "blast", "units": "us"}
    assert refused(air.nozzle_wear, wear) == "now"


@given(BORES, PSI, KINDS)
def test_more_pressure_or_a_wider_bore_draws_more(bore: float, psi: float, kind: str) -> None:
    here = air.nozzle_air(bore, psi, kind, "us").air
    assert air.nozzle_air(bore, psi * 1.05, kind, "us").air >= here
    assert air.nozzle_air(bore * 1.05, psi, kind, "us").air >= here


@given(BORES, PSI, KINDS)
def test_both_units_say_the_same_flow(bore: float, psi: float, kind: str) -> None:
    us = air.nozzle_air(bore, psi, kind, "us").air
    metric = air.nozzle_air(bore * 25.4, psi * 0.06894757293168, kind, "metric").air
    assert metric == pytest.approx(us * 28.316846592, rel=1e-4, abs=0.2)


@given(BORES)
def test_the_flow_runs_on_smoothly_where_it_chokes(bore: float) -> None:
    """The two formulas must meet at P0 / P1 = 0.5283, 13.12 psi over one atmosphere."""
    below, above = (air.nozzle_air(bore, psi, "rounded", "us") for psi in (13.1, 13.14))
    assert not below.choked and above.choked
    assert above.air == pytest.approx(below.air, rel=5e-3, abs=0.02)


@given(BORES, st.floats(1, 1.5), PSI, KINDS)
def test_wear_costs_air_by_the_areas(bore: float, growth: float, psi: float, kind: str) -> None:
    worn = air.nozzle_wear(bore, bore * growth, psi, kind, "us")
    assert worn.ratio == pytest.approx(growth**2, abs=1e-4)
    assert worn.now == pytest.approx(worn.before * growth**2, abs=0.02)


@given(st.floats(1, 500), st.floats(0, 100), st.floats(1, 100), st.floats(5, 3600))
def test_what_is_pumped_up_leaks_down_again(gallons: float, low: float, rise: float, seconds: float) -> None:
    up = air.pump_up(gallons, low, low + rise, seconds, "us").air
    assert air.leak_by_decay(gallons, low + rise, low, seconds, "us").air == up


@given(st.floats(1, 500), st.floats(1, 200))
def test_energy_lies_below_that_of_slow_expansion(gallons: float, psi: float) -> None:
    """Isothermal work, P1 V ln(P1 / P0), is an upper bound of the isentropic."""
    inside, litres = psi * 6.894757 + 101.325, gallons * 3.785411784
    energy = air.receiver_energy(gallons, psi, "us").kj
    assert 0 <= energy <= inside * litres / 1000 * math.log(inside / 101.325) + 0.01


@given(st.floats(0.1, 1000), st.floats(0.1, 1000))
def test_supply_is_short_tight_or_enough(demand: float, delivered: float) -> None:
    found = air.against(demand, delivered, "us")
    wanted = "short" if demand > delivered else "tight" if demand * 1.5 > delivered else "enough"
    assert found.verdict == wanted


@pytest.mark.parametrize("quantity", ["dew point", "oil"])
def test_a_worse_reading_never_has_a_better_class(quantity: str) -> None:
    classes = [air_purity.purity_class(quantity, value) for value in (0, 0.02, 0.5, 3, 4, 6, 9, 11)]
    assert classes == sorted(classes)


@pytest.mark.parametrize("bad", [math.nan, math.inf, -151, "dry", None, True])
def test_a_reading_that_is_none_has_no_class(bad: Any) -> None:
    assert refused(air_purity.purity_class, {"quantity": "oil", "value": bad}) == "value"
