"""What holds of every balance, over exposures that a photographer could really make."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from starlette.testclient import TestClient

from tests.http.api.asking import applied, ask, exposure, light
from webapp.optics.scales import Dial, Quantity, marks

Json = dict[str, Any]
HALF_STEP = {"full": 1 / 2, "half": 1 / 4, "third": 1 / 6}

asked = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


def names(quantity: Quantity, lowest: float, highest: float) -> st.SearchStrategy[str]:
    on_dial = [mark.text for mark in marks(quantity, Dial.THIRD) if lowest <= mark.exact <= highest]
    return st.sampled_from(on_dial)


def steps(lowest: float, highest: float, step: float) -> st.SearchStrategy[float]:
    """Numbers as they are typed, such as 0.3."""
    return st.integers(round(lowest / step), round(highest / step)).map(lambda count: round(count * step, 9))


lights = st.builds(
    light,
    power_stops=steps(-7, 0, 0.1),
    distance_mm=steps(100, 4000, 5),
    filter_stops=steps(0, 3, 0.3),
)
both_lit = st.fixed_dictionaries({"A": lights}) | st.fixed_dictionaries({"A": lights, "B": lights})


def exposures(lit: st.SearchStrategy[Json]) -> st.SearchStrategy[Json]:
    return st.builds(
        exposure,
        lit,
        f_number=names(Quantity.F_NUMBER, 2, 45),
        shutter=names(Quantity.SHUTTER, 1 / 1000, 4),
        iso=names(Quantity.ISO, 50, 6400),
        lens_filter_stops=steps(0, 6, 0.3),
        magnification=st.none() | steps(0, 2, 0.05),
        pops=st.integers(1, 16),
    )


pairs = both_lit.flatmap(
    lambda lit: st.tuples(exposures(st.just(lit)), exposures(st.fixed_dictionaries(dict.fromkeys(lit, lights))))
)


@asked
@given(pairs)
def test_there_and_back_comes_to_nothing(stateless: TestClient, pair: tuple[Json, Json]) -> None:
    there = ask(stateless, pair[0], pair[1])["balances"]
    back = ask(stateless, pair[1], pair[0])["balances"]

    assert all(there[name] + back[name] == pytest.approx(0, abs=1e-8) for name in there)


@asked
@given(pairs, exposures(st.fixed_dictionaries({"A": lights})))
def test_two_steps_come_to_the_same_as_one(stateless: TestClient, pair: tuple[Json, Json], between: Json) -> None:
    once = ask(stateless, pair[0], pair[1])["balances"]["A"]
    first = ask(stateless, pair[0], between)["balances"]["A"]
    second = ask(stateless, between, pair[1])["balances"]["A"]

    assert first + second == pytest.approx(once, abs=1e-8)


@asked
@given(pairs)
def test_entries_add_up_to_the_balance(stateless: TestClient, pair: tuple[Json, Json]) -> None:
    told = ask(stateless, *pair)

    for name, balance in told["balances"].items():
        own = [entry["stops"] for entry in told["entries"] if entry["acts_on"] == name]
        assert sum(own) == pytest.approx(balance, abs=1e-8)


@asked
@given(pairs)
def test_no_two_entries_have_the_same_cause_on_the_same_light(stateless: TestClient, pair: tuple[Json, Json]) -> None:
    entries = [(entry["cause"], entry["acts_on"]) for entry in ask(stateless, *pair)["entries"]]

    assert len(set(entries)) == len(entries)


@asked
@given(pairs, steps(-1, 1, 0.1), st.sampled_from(list(HALF_STEP)))
def test_a_correction_leaves_what_it_says(
    stateless: TestClient, pair: tuple[Json, Json], target: float, dial: str
) -> None:
    question: Json = {"target_stops": target, "dial": {"f_number": dial, "iso": dial}}
    before, after = pair

    for way in ask(stateless, before, after, **question)["corrections"]:
        balances = ask(stateless, before, applied(after, way), **question)["balances"]
        acts_on = list(after["lights"]) if way["acts_on"] == "all" else [way["acts_on"]]
        furthest = max((balances[name] - target for name in acts_on), key=abs)
        assert furthest == pytest.approx(way["leaves_stops"], abs=1e-8)


@asked
@given(pairs, steps(-1, 1, 0.1), st.sampled_from(list(HALF_STEP)))
def test_a_correction_by_a_dial_comes_within_half_a_step(
    stateless: TestClient, pair: tuple[Json, Json], target: float, dial: str
) -> None:
    told = ask(stateless, *pair, target_stops=target, dial={"f_number": dial, "iso": dial})

    half_step = {"energy": 0.05, "aperture": HALF_STEP[dial], "iso": HALF_STEP[dial]}
    # Lights that count as alike may be a twentieth of a stop apart.
    apart = {"all": 0.05}
    for way in told["corrections"]:
        if way["cause"] in half_step:
            most = half_step[way["cause"]] + apart.get(way["acts_on"], 0.0)
            assert abs(way["leaves_stops"]) <= most + 1e-9


@asked
@given(pairs)
def test_energy_comes_first_and_the_shutter_never(stateless: TestClient, pair: tuple[Json, Json]) -> None:
    told = ask(stateless, *pair)

    of_one = [way["cause"] for way in told["corrections"] if way["acts_on"] == "A"]
    assert "shutter" not in of_one
    assert "energy" not in of_one[1:]


@asked
@given(pairs, names(Quantity.SHUTTER, 1 / 1000, 4))
def test_no_shutter_moves_flash(stateless: TestClient, pair: tuple[Json, Json], shutter: str) -> None:
    before, after = pair

    still = ask(stateless, before, after)["balances"]
    moved = ask(stateless, before, {**after, "shutter": shutter})["balances"]

    assert {name: moved[name] for name in after["lights"]} == {name: still[name] for name in after["lights"]}


anything: st.SearchStrategy[Any] = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(max_size=30),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=6,
)


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.data())
def test_whatever_is_put_into_a_field_is_answered(stateless: TestClient, data: st.DataObject) -> None:
    field = data.draw(st.sampled_from(sorted(exposure())))
    of_light = data.draw(st.sampled_from(sorted(light())))
    after = exposure({"A": light(**{of_light: data.draw(anything)})}) | {field: data.draw(anything)}

    answer = stateless.post("/api/v1/balance", json={"from": exposure(), "to": after})

    assert answer.status_code in (200, 422)
    if answer.status_code == 422:
        assert all(problem["loc"][:2] == ["body", "to"] for problem in answer.json()["detail"])
