"""A volume that contradicts the additions grossly is questioned; finer than that it does not matter."""

import numpy as np
import pytest

from dosing import DEFAULT_SCALE, Addition, Reading, Refill, Said, season
from dosing.history import Past

STATED = 1300.0
READ_OFF = {"ta": 0.05, "ch": 0.05, "fc": 0.08}


def told_of(factor: float, seed: int, doses: int = 8) -> list[Past]:
    """A strip before and after each dose, two days apart, into a tub that truly holds `factor` times what is said."""
    random = np.random.default_rng(seed)
    history: list[Past] = [Refill(None, hours_ago=24.0 * (2 * doses + 1))]
    for number in range(doses):
        hours = 24.0 * 2 * (doses - number)
        alkalinity, chlorine = float(random.uniform(30.0, 60.0)), float(random.uniform(0.5, 3.0))
        history.append(strip(random, hours, ta=alkalinity, fc=chlorine))
        up, chlorinated = float(random.uniform(40.0, 90.0)) * STATED / 1e3, 5.0 * STATED / 1e3
        poured = {"sodium_bicarbonate": up / 0.596, "sodium_hypochlorite": chlorinated * 74.44 / 70.906}
        history.append(Addition(substances=poured, hours_ago=hours - 0.2))
        slip = float(np.exp(random.normal(0.0, 0.15)))
        alkalinity += up * 1e3 / STATED / factor * slip
        chlorine += chlorinated * 1e3 / STATED / factor * slip
        history.append(strip(random, hours - 1.0, ta=alkalinity, fc=chlorine))
    return history


def strip(random: np.random.Generator, hours: float, **true: float) -> Reading:
    values = {}
    for key, value in true.items():
        seen = value * (1.0 + random.normal(0.0, READ_OFF[key]))
        pads = DEFAULT_SCALE.pads[key]
        values[key] = Said.value(min(pads, key=lambda pad: abs(pad - seen)))
    return Reading(values=values, hours_ago=hours)


def questioned(factor: float, seed: int) -> list[float]:
    found = season.look(season.Tub(volume=STATED), told_of(factor, seed)).findings
    return [finding.numbers["factor"] for finding in found if finding.code == "volume_contradicted"]


@pytest.mark.parametrize("factor", [0.85, 1.0, 1.15])
def test_a_brochures_error_is_not_questioned(factor: float) -> None:
    assert sum(len(questioned(factor, seed)) for seed in range(20)) <= 1


@pytest.mark.parametrize("factor", [0.5, 2.0])
def test_a_gross_error_is_questioned_and_its_size_told(factor: float) -> None:
    found = [questioned(factor, seed) for seed in range(10)]
    assert sum(map(len, found)) >= 6
    for (told,) in filter(None, found):
        assert told == pytest.approx(factor, rel=0.35)


def test_one_dose_alone_questions_no_volume() -> None:
    history = [
        Refill(None, hours_ago=30.0),
        Reading(values={"ta": Said.value(40.0)}, hours_ago=20.0),
        Addition(substances={"sodium_bicarbonate": 300.0}, hours_ago=19.0),
        Reading(values={"ta": Said.value(40.0)}, hours_ago=18.0),
    ]
    assert all(
        found.code != "volume_contradicted" for found in season.look(season.Tub(volume=STATED), history).findings
    )
