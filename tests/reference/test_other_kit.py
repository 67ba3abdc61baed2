"""A recipe on other kits, ten and one more, each against a reckoning by hand that is written beside it, and what is lost named in each.

The recipe: 36 × 24 mm lying, 100 mm at m = 0.2 (field 180 × 120 mm) from 60 cm, f/11, 1/125 s, ISO 100. Key A is a
500 J head at 125 J in a 60 cm disc at 90 cm and meters f/16 alone; fill B is alike at 62.5 J and meters f/8. The formulas
are those of the thin lens (u = f (1 + 1/m), extension f m, effective f-number N (1 + m)), the definition of the stop,
and of the apparent size 2 atan(s / 2d).
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from tests.unit.ledger.builders import CAMERA, LENS
from tests.unit.recipes.made import head, light, recipe, setting
from webapp.facts import Fact
from webapp.ledger.set_up import EmittingFigures, HeadFigures, IncidentReading, Light, ModifierFigures
from webapp.optics.scales import Dial, Quantity
from webapp.quantities.powers import Marking
from webapp.recipes.adapt.adapting import Adapted, OtherKit, adapt
from webapp.recipes.adapt.choosing import best_lens, best_lights
from webapp.recipes.document import CameraPart, FilterPart, LensPart, LightPart, Recipe, SettingsPart
from webapp.recipes.reasons import Reason
from webapp.web.words.say import say

ANGLE = math.degrees(2 * math.atan(300 / 900))
DISC = ModifierFigures("m60", "60 cm disc", 1.0, EmittingFigures("disc", 600.0), diffuses=True)
HEAD = HeadFigures("h500", "500 J", "flash", "head", 500.0, -6.0, 0.1, Marking.JOULES)
MACRO = replace(LENS, name="100 mm macro", shortest_focal_mm=100, longest_focal_mm=100, greatest_magnification=1.0)


def written(letter: str, role: str, av: float, joules: float, **over: Any) -> LightPart:
    said: dict[str, Any] = {"width_mm": 600.0, "distance_mm": 900.0, "angular_size_deg": ANGLE, "shape": "disc"}
    said |= {"modifier": "60 cm disc", "modifier_diffuses": True, "modifier_loss_stops": 1.0, "incident_av": av}
    power = math.log2(joules / 500.0)
    said |= {"role": role, "energy_j": joules, "power_stops": power, "power_mark": f"{joules:g} J"}
    return light(letter, head=head(500.0), **(said | over))


def the_recipe(*lights: LightPart, **over: Any) -> Recipe:
    settings: dict[str, Any] = {
        "f_number": setting(Quantity.F_NUMBER, "11"),
        "shutter": setting(Quantity.SHUTTER, "1/125"),
        "iso": setting(Quantity.ISO, "100"),
        "focal_length_mm": 100.0,
        "magnification": 0.2,
        "subject_distance_mm": 600.0,
    }
    camera = CameraPart(
        name="36 × 24",
        sensor_width_mm=36,
        sensor_height_mm=24,
        width_px=6000,
        height_px=4000,
        sync_mark="1/200",
        sync_tv=7.64,
        lowest_iso=100,
        highest_iso=25600,
    )
    lens = LensPart(
        name="100 mm", shortest_focal_mm=100, longest_focal_mm=100, widest_f_number=2.8, smallest_f_number=32
    )
    both = lights or (written("A", "key", 8.0, 125.0), written("B", "fill", 6.0, 62.5, from_key_stops=-2.0))
    return recipe(*both, camera=camera, lens=lens, settings=SettingsPart(**(settings | over)))


def stands(letter: str, av: float, power: float, **over: Any) -> Light:
    """A reader's light that meters 2 log2 N = `av` alone at `power` from 90 cm in a 60 cm disc."""
    said: dict[str, Any] = {"head": HEAD, "modifier": DISC, "incident": IncidentReading(av, "", power, 900.0)}
    return Light(letter, "", **(said | over))


BOTH = {"A": stands("A", 8.0, -2.0), "B": stands("B", 6.0, -3.0)}


def losses(found: Adapted) -> dict[str, tuple[Fact, tuple[Fact, ...]]]:
    return {f"{each.fact.reason} {each.fact.about}".strip(): (each.fact, each.ways) for each in found.lost}


def ways(found: Adapted, loss: str) -> dict[str, Fact]:
    """The ways to a loss, each with its price in words."""
    to_it = losses(found)[loss][1]
    assert all(say(each).endswith(".") for each in to_it)
    return {each.reason: each for each in to_it}


def power(found: Adapted, letter: str) -> float:
    stood = found.set_up.light(letter)
    assert stood is not None
    assert stood.power_stops is not None
    return stood.power_stops


def test_the_same_kit_gives_the_same_picture_and_nothing_is_lost() -> None:
    found = adapt(the_recipe(), OtherKit(CAMERA, MACRO, lights=BOTH))

    assert found.lost == ()
    assert (power(found, "A"), power(found, "B")) == pytest.approx((-2.0, -3.0))


def test_the_filters_of_the_recipe_are_fitted_on_the_other_head_too() -> None:
    """A meters f/16 through 2 stops of ND at 125 J. A reader's head that meters f/16 without a sheet at −2 has to give
    2 stops more through the same sheet: full power."""
    sheet = FilterPart(name="ND 0.6", kind="neutral", loss_stops=2.0)
    through = written("A", "key", 8.0, 125.0, filters=(sheet,))

    found = adapt(the_recipe(through), OtherKit(CAMERA, MACRO, lights={"A": BOTH["A"]}))

    assert power(found, "A") == pytest.approx(0.0)
    assert losses(found) == {}


def test_another_sensor() -> None:
    """23.4 × 15.6 mm by the width: k = 23.4/36 = 0.65, m = 0.13, and from the same 60 cm
    f = 600 / (1 + 1/0.13) = 69.03 mm. The effective f-number 11.31 × 1.2 = 13.58 becomes 8.82, so marked
    8.82 / 1.13 = 7.81: f/8 of thirds, effective 9.04. The lights give 2 log2(9.04/13.58) = −1.17 stops."""
    small = replace(CAMERA, sensor_width_mm=23.4, sensor_height_mm=15.6)
    zoom = replace(MACRO, name="zoom", shortest_focal_mm=60, longest_focal_mm=120)

    found = adapt(the_recipe(), OtherKit(small, zoom, lights=BOTH))

    assert found.set_up.magnification == pytest.approx(0.13)
    assert found.set_up.focal_length_mm == pytest.approx(69.03, abs=0.005)
    assert found.exact_f_number == pytest.approx(7.81, abs=0.005)
    assert found.set_up.f_number is not None
    assert found.set_up.f_number.text == "8"
    assert found.levels["A"] == pytest.approx(8.0 - 1.174, abs=0.002)
    assert power(found, "A") == pytest.approx(-3.2)
    assert losses(found) == {}


def test_focal_lengths_that_are_owned() -> None:
    """With 50, 85 and 135 mm for 100 mm, at m = 0.2: the camera's distances are f (1 + 1/0.2) = 30, 51 and 81 cm, which
    are 1.00, 0.23 and 0.43 octaves from 60 cm. So the 85 mm is chosen, and the perspective is lost by 9 cm. From 60 cm
    it has m = 85/(600 − 85) = 0.165 and the picture is 0.165/0.2 = 82.5 % of each side."""
    owned = [
        replace(MACRO, id=f"{f}", name=f"{f} mm", shortest_focal_mm=f, longest_focal_mm=f) for f in (50, 85, 135)
    ]

    chosen = best_lens(the_recipe(), CAMERA, owned, OtherKit(CAMERA, MACRO).held)
    assert chosen is not None
    found = adapt(the_recipe(), OtherKit(CAMERA, chosen.lens, lights=BOTH, chosen=(chosen.why,)))

    assert chosen.lens.name == "85 mm"
    assert "85 mm" in say(chosen.why)
    assert "51 cm, written 60 cm" in say(chosen.why)
    assert found.set_up.subject_distance_mm == pytest.approx(510.0)
    to_it = ways(found, "perspective_lost")
    assert to_it["way_crop"].number("part") == pytest.approx(0.8252, abs=0.0005)
    assert to_it["way_lens"].number("focal_mm") == pytest.approx(100.0)


def test_a_head_that_is_too_weak() -> None:
    """A head that meters f/8 at full where f/16 is needed lacks 2 stops: 4 pops; ISO 400; f/5.6; or nearer. For a disc
    of radius r = 30 cm the light falls as 1/(r² + d²): four times from 90 cm is d² = (0.09 + 0.81)/4 − 0.09 = 0.135,
    so 36.7 cm, from where it looks 2 atan(300/367.4) = 78.5° large."""
    weak = stands("A", 6.0, 0.0)

    found = adapt(the_recipe(), OtherKit(CAMERA, MACRO, lights=BOTH | {"A": weak}))

    assert power(found, "A") == 0.0
    assert found.residues["A"] == pytest.approx(-2.0)
    to_it = ways(found, "power_out_of_range A")
    assert to_it["way_pops"].number("pops") == 4
    assert to_it["way_iso"].text("mark") == "400"
    assert (to_it["way_aperture"].text("mark"), to_it["way_aperture"].number("missing_stops")) == ("5.6", 0.0)
    assert to_it["way_distance"].number("distance_mm") == pytest.approx(367.4, abs=0.1)
    assert to_it["way_distance"].number("yours_deg") == pytest.approx(78.46, abs=0.05)


def test_a_floor_that_is_too_strong() -> None:
    """A head that meters f/16 at its floor of −3 where f/8 is needed gives 2 stops too much: 2 stops of sheets, or
    farther: d² = 4 × 0.9 − 0.09 = 3.51, 187.3 cm, from where it looks 18.2° large. ISO 25 is below the camera's 100,
    and is no way; f/22 is one, and everything else has to give 2 stops more."""
    strong = stands("B", 8.0, -3.0, head=replace(HEAD, lowest_power_stops=-3.0))

    found = adapt(the_recipe(), OtherKit(CAMERA, MACRO, lights=BOTH | {"B": strong}))

    assert power(found, "B") == -3.0
    assert found.residues["B"] == pytest.approx(2.0)
    to_it = ways(found, "power_out_of_range B")
    assert to_it["way_sheets"].number("stops") == pytest.approx(2.0)
    assert to_it["way_distance"].number("distance_mm") == pytest.approx(1873.5, abs=0.1)
    assert to_it["way_distance"].number("yours_deg") == pytest.approx(18.19, abs=0.05)
    assert to_it["way_aperture"].text("mark") == "22"
    assert "way_iso" not in to_it


def test_another_softbox() -> None:
    """A 90 cm disc looks as large from 135 cm as 60 cm from 90 cm, and nothing is lost; a bare head is a hard source,
    and a face of 2 × 900 tan(18.43°) = 60 cm at its place would be as soft."""
    large = replace(DISC, name="90 cm disc", face=EmittingFigures("disc", 900.0))
    soft = stands("A", 8.0, -2.0, modifier=large, incident=IncidentReading(8.0, "", -2.0, 1350.0))
    bare = stands("A", 8.0, -2.0, modifier=None)

    kept = adapt(the_recipe(), OtherKit(CAMERA, MACRO, lights=BOTH | {"A": soft}))
    hard = adapt(the_recipe(), OtherKit(CAMERA, MACRO, lights=BOTH | {"A": bare}))

    stood = kept.set_up.light("A")
    assert stood is not None
    assert stood.distance_mm == pytest.approx(1350.0)
    assert losses(kept) == {}
    assert set(losses(hard)) == {"made_hard A"}
    assert ways(hard, "made_hard A")["way_face"].number("size_mm") == pytest.approx(600.0)


def test_a_small_room() -> None:
    """A 90 cm disc can stand no further than 90 cm: it looks 2 atan(450/900) = 53.1° large instead of 36.9°. It would
    have to stand at 135 cm, or be 60 cm large."""
    large = replace(DISC, name="90 cm disc", face=EmittingFigures("disc", 900.0))
    near = stands("A", 8.0, -2.0, modifier=large, distance_mm=900.0)

    found = adapt(the_recipe(), OtherKit(CAMERA, MACRO, lights=BOTH | {"A": near}))

    assert losses(found)["softness_lost A"][0].number("yours_deg") == pytest.approx(53.13, abs=0.005)
    to_it = ways(found, "softness_lost A")
    assert to_it["way_distance"].number("distance_mm") == pytest.approx(1350.0)
    assert to_it["way_face"].number("size_mm") == pytest.approx(600.0)


def test_one_light_fewer() -> None:
    """With one head for two lights the brighter, A, gets it; B is missing, which metered f/8 alone, two stops under the
    key: a card, or a second frame."""
    the = the_recipe()

    chosen = best_lights(the.lit, [HEAD], [DISC], {}, {})
    found = adapt(the, OtherKit(CAMERA, MACRO, lights={"A": BOTH["A"]}, chosen=chosen.why))

    assert {letter: pair[0].name for letter, pair in chosen.lights.items()} == {"A": "500 J"}
    assert [each.reason for each in chosen.why] == [Reason.HEAD_CHOSEN, Reason.NO_HEAD_LEFT]
    assert set(losses(found)) == {"left_without_a_head B"}
    assert "(it has to meter f/8 alone, −2.0 stops from the key)" in say(losses(found)["left_without_a_head B"][0])
    assert set(ways(found, "left_without_a_head B")) == {"way_card", "way_second_exposure"}


def test_no_macro_lens() -> None:
    """At m = 0.2 with a 100 mm lens that goes to 0.1: a crop to 50 % of each side, 3000 × 2000 pixels; or
    f (0.2 − 0.1) = 10 mm of extension, which takes 2 log2(1.2/1.1) = 0.25 stops and puts the camera at 60 cm."""
    plain = replace(MACRO, name="100 mm", greatest_magnification=0.1)

    found = adapt(the_recipe(), OtherKit(CAMERA, plain, lights=BOTH))

    to_it = ways(found, "not_close_enough")
    crop, extension = to_it["way_crop"], to_it["way_extension"]
    assert (crop.number("part"), crop.number("width_px"), crop.number("height_px")) == (0.5, 3000, 2000)
    assert extension.number("extension_mm") == pytest.approx(10.0)
    assert extension.number("stops") == pytest.approx(0.251, abs=0.0005)
    assert extension.number("distance_mm") == pytest.approx(600.0)


def test_continuous_light() -> None:
    """A lamp that meters f/8 at 1/125 s at full lacks 2 stops for f/16: 1/30 s, during which the room gives 2 stops more
    (1/125 to 1/30 is 2 stops on the scale). Shutter, room and motion are named."""
    lamp = HeadFigures("led", "lamp", "continuous", "head", None, -6.0, 0.1)
    dim = stands("A", 6.0, 0.0, head=lamp)

    found = adapt(the_recipe(), OtherKit(CAMERA, MACRO, lights=BOTH | {"A": dim}))

    told = say(losses(found)["continuous_for_flash A"][0])
    assert all(each in told for each in ("the shutter now counts", "1/125 s", "room", "moves"))
    assert set(ways(found, "continuous_for_flash A")) == {"way_dark_room", "way_still"}
    longer = ways(found, "power_out_of_range A")
    assert longer["way_longer"].text("mark") == "1/30"
    assert longer["way_longer"].number("stops") == pytest.approx(2.0)
    assert "way_pops" not in longer


def test_whole_stop_dials() -> None:
    """Heads that need −2.4 and −3.4 stops, with whole-stop dials: each alone stands at −2 and −3, 0.4 over. At ISO 80
    (a third of a stop less) both need −2.07 and −3.07, and both are 0.07 over: trimmed together. Where they need −2.4
    and −3.0 nothing brings both onto a mark: they stay 0.4 apart, so that one is 0.2 off at least, and it is said."""
    whole = replace(HEAD, step_stops=1.0, marking=Marking.FRACTION)
    camera = replace(CAMERA, lowest_iso=50.0, iso_dial=Dial.THIRD)
    alike = {"A": stands("A", 8.4, -2.0, head=whole), "B": stands("B", 6.4, -3.0, head=whole)}
    unlike = alike | {"B": stands("B", 6.0, -3.0, head=whole)}

    together = adapt(the_recipe(), OtherKit(camera, MACRO, lights=alike))
    apart = adapt(the_recipe(), OtherKit(camera, MACRO, lights=unlike))

    assert together.exact_iso == pytest.approx(100 * 2 ** (-1 / 3))
    assert (power(together, "A"), power(together, "B")) == (-2.0, -3.0)
    assert together.residues["A"] == pytest.approx(0.4 - 1 / 3)
    assert together.residues["B"] == pytest.approx(0.4 - 1 / 3)
    assert losses(together) == {}
    assert any(each.fact.reason == Reason.ADAPTED_TRIM for each in together.rows)
    # The difference of 0.4 between them stays, however they are trimmed.
    assert apart.residues["A"] - apart.residues["B"] == pytest.approx(0.4)
    assert max(map(abs, apart.residues.values())) < 0.4
    left = {each: fact for each, (fact, _) in losses(apart).items() if each.startswith("residue_left")}
    assert left
    assert all(abs(each.number("residue_stops")) > 0.15 for each in left.values())


def test_an_aperture_at_its_ceiling() -> None:
    """f/11 at m = 0.2 on 36 × 24 is 11.31 × 1.2 = 13.58 effective. A sensor twice as wide needs k = 2, m = 0.4 and
    27.15 effective, 27.15/1.4 = 19.39 marked; a lens that ends at f/11 lacks 2 log2(19.39/11.31) = 1.56 stops. One slice
    there is 2 c N_eff / m² with twice the circle, 0.583 of what it was, and a stack with a quarter of overlap takes
    1 + (1 − 0.583)/(0.75 × 0.583) = 1.95, so 2 frames."""
    large = replace(CAMERA, sensor_width_mm=72.0, sensor_height_mm=48.0)
    open_lens = replace(MACRO, shortest_focal_mm=100, longest_focal_mm=300, smallest_f_number=11.0)

    found = adapt(the_recipe(), OtherKit(large, open_lens, lights=BOTH))

    assert found.exact_f_number == pytest.approx(19.39, abs=0.005)
    to_it = ways(found, "depth_lost")
    assert to_it["way_stack"].number("frames") == 2
    less = to_it["way_less_depth"]
    assert less.number("depth_mm") / less.number("written_mm") == pytest.approx(11.314 / 19.395, abs=0.001)
