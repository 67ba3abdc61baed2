"""A worksheet that nobody has typed into begins with the active shot's values, and says so."""

from __future__ import annotations

from tests.http.recipes.conftest import Shoot


def test_it_begins_with_the_active_shot_where_that_has_the_value(shoot: Shoot) -> None:
    for field, value in (("f_number", "f/16"), ("magnification", "0.5"), ("lights.A.power", "1/8")):
        shoot.client.post(f"{shoot.shot}/standing", data={"field": field, "value": value})

    close = shoot.client.get("/worksheets/close-up").text
    energy = shoot.client.get("/worksheets/flash-energy").text
    ambient = shoot.client.get("/worksheets/sync-ambient").text
    examples = shoot.client.get("/worksheets/close-up", params={"from": "examples"}).text

    assert 'name="f_number" value="f/16"' in close
    assert 'name="magnification" value="0.5"' in close
    assert "From the active shot" in close
    assert 'name="power_stops" value="1/8"' in energy
    # What the set is at says nothing of what the room alone would ask for.
    assert 'name="ambient_f_number" value="f/8"' in ambient
    assert 'name="f_number" value="f/11"' in examples
    assert "These values are examples." in examples


def test_what_was_typed_last_goes_before_the_shot(shoot: Shoot) -> None:
    shoot.client.post(f"{shoot.shot}/standing", data={"field": "f_number", "value": "f/16"})
    shoot.client.get("/worksheets/close-up", params={"f_number": "f/5.6", "magnification": "2"})

    again = shoot.client.get("/worksheets/close-up").text
    from_shot = shoot.client.get("/worksheets/close-up", params={"from": "shot"}).text

    assert 'name="f_number" value="f/5.6"' in again
    assert 'name="f_number" value="f/16"' in from_shot
