"""What the library of recipes says, fact by fact, in centimetres and in inches."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.facts import Fact, fact, facts_json, read_facts
from webapp.quantities.lengths import Lengths
from webapp.recipes.reasons import Reason
from webapp.web.words import say as saying
from webapp.web.words.say import say

OURS = {"head": "monolight", "modifier": None}

MINE = {"kind": "flash", "form": "head", "full_energy_j": 250.0}
BOX = {"shape": "disc", "width_mm": 600.0, "height_mm": None, "loss_stops": None}
SAID = (
    (fact(Reason.AS_WRITTEN, text="prove black"), "prove black"),
    (fact(Reason.MARK_CHANGED, "f_number", was="11", now="22", stops=-2.0), "f-number 11 to 22 (−2.0 stops)"),
    (fact(Reason.MARK_CHANGED, "iso", was=None, now="200", stops=None), "ISO unknown to 200"),
    (fact(Reason.MAGNIFICATION_CHANGED, was=0.5, now=None), "magnification 0.5 to unknown"),
    (fact(Reason.PIECE_CHANGED, "lens", was="90 mm", now=None), "lens 90 mm to unknown"),
    (fact(Reason.CAMERA_MOVED, was_mm=900.0, now_mm=1100.0), "camera distance 90 cm to 110 cm (+20.0 cm)"),
    (fact(Reason.LIGHT_ADDED, "B"), "B is new"),
    (fact(Reason.LIGHT_GONE, "B"), "B is gone"),
    (fact(Reason.LIGHT_SWITCHED, "B", lit=False), "B off"),
    (fact(Reason.HEAD_CHANGED, "B", was="monolight", now="pack head"), "B: monolight to pack head"),
    (fact(Reason.POWER_CHANGED, "A", was="125 J", now="62.5 J", stops=-1.0), "A 125 J to 62.5 J (−1.0 stops)"),
    (fact(Reason.LIGHT_MOVED, "A", was_mm=900.0, now_mm=None), "A distance 90 cm to unknown"),
    (fact(Reason.LEVEL_CHANGED, "A", stops=0.5), "A incident level +0.5 stops"),
    (fact(Reason.LIGHT_FIELD_CHANGED, "A", field="modifier", was=None, now="snoot"), "A modifier none to snoot"),
    (fact(Reason.FILTERS_CHANGED, "A", was=(), now=("gel", "frost")), "A filters none to gel and frost"),
    (fact(Reason.AMBIENT_MARGIN_CHANGED, was_stops=8.0, now_stops=None), "ambient margin 8.0 stops to unknown"),
    (fact(Reason.WORDING_CHANGED, "looks", was=("rim",), now=("soft", "rim")), "look “rim” to “soft, rim”"),
    (fact(Reason.REWRITTEN, "post"), "post-production steps rewritten"),
    (
        fact(Reason.FIGURES_AS_WRITTEN, problem="The recipe is silent."),
        "The recipe is silent. The figures stand as written.",
    ),
    (fact(Reason.NOT_IN_RECIPE, "subject_distance"), "The recipe does not say the camera distance."),
    (
        fact(Reason.LIGHT_LEFT_OUT, "A", light="key A", head="pack head"),
        "key A is left out of the set-up: no head was chosen for pack head.",
    ),
    (
        fact(Reason.LIGHT_STANDS_BARE, "A", light="key A", modifier="snoot"),
        "key A stands bare: snoot is on it in the recipe.",
    ),
    (
        fact(Reason.POWER_LEFT_OPEN, "A", light="key A", head="stranger"),
        "The power of key A is left open: stranger is another head than the recipe's.",
    ),
    (
        fact(Reason.FILTER_LEFT_OUT, light=None, filter="ND 0.9"),
        "ND 0.9 on the lens is not in this studio, and left out.",
    ),
    (fact(Reason.PATCHES_LEFT_OUT, most=12), "Of the recipe's patches the first 12 were drawn."),
    (
        fact(Reason.CHECK_AMBIENT_FIRST),
        "Every lamp off: make an ambient check. The room is another than the recipe's.",
    ),
    (fact(Reason.MOUNT_CAMERA, camera="body", lens="24–70", focal_mm=50.0), "Mount body with 24–70 at 50 mm."),
    (fact(Reason.PLACE_CAMERA, distance_mm=775.0), "Place it 77.5 cm from the subject."),
    (
        fact(Reason.FIELD_AT_SUBJECT, magnification=0.5, width_mm=72.0, height_mm=48.0),
        "Magnification 0.5: the field is 7.2 cm × 4.8 cm at the subject.",
    ),
    (fact(Reason.SET_DIALS, f_number="11", shutter="2", iso="100"), "f/11, 2 s, ISO 100."),
    (fact(Reason.SET_DIALS, f_number=None, shutter="1/125", iso=None), "1/125."),
    (fact(Reason.SET_DIALS, f_number=None, shutter=None, iso=None), "Settings: the recipe does not say them."),
    (fact(Reason.FILTER_ON_LENS, filter="polariser"), "Polariser on the lens."),
    (
        fact(Reason.PLACE_THING, "white card", x_mm=0.0, y_mm=-300.0, z_mm=0.0),
        "White card: 30 cm from the subject, in front, level with it.",
    ),
    (fact(Reason.SET_UP_HEAD, "A", head="monolight"), "Put up monolight."),
    (fact(Reason.FIT_MODIFIER, "A", modifier="snoot"), "Fit snoot."),
    (fact(Reason.FIT_FILTER, "A", filter="gel"), "Put in gel."),
    (fact(Reason.SET_DISTANCE, "A", distance_mm=1300.0), "Distance 130 cm, face to subject."),
    (fact(Reason.SET_DISTANCE, "A", distance_mm=None), "Distance: unknown; find it and set it on the desk."),
    (
        fact(Reason.HOLD_BY, "A", held_by="boom"),
        "On a boom, with its counterweight, and a sandbag on its stand.",
    ),
    (fact(Reason.SET_BEARING, "A", bearing_deg=-45.0), "Bearing: 45° left, as the camera sees it."),
    (fact(Reason.SET_HEIGHT, "A", above_mm=-120.0), "Height: 12 cm below the subject's middle."),
    (fact(Reason.SET_HEIGHT, "A", above_mm=0.0), "Height: level with the subject's middle."),
    (fact(Reason.SET_POWER, "A", mark="154 J"), "Power 154 J."),
    (fact(Reason.SET_POWER, "A", mark=None), "Power: unknown; find it and set it on the desk."),
    (fact(Reason.LAMP_ON, "A"), "Modelling lamp on."),
    (fact(Reason.LEAVE_OFF, "A"), "Leave it off."),
    (
        fact(Reason.METER_ALONE, "A", light="key A", level_av=6.0, proves="softbox"),
        "Meter key A alone at ISO 100: f/8. It also proves softbox.",
    ),
    (fact(Reason.WITHIN_TOLERANCE, "angles", within=1.0, unit="°"), "Angles within ± 1°."),
    (fact(Reason.LAY_PATCHES, patches=("rim", "label")), "Lay the patches over the first picture: rim, label."),
    (
        fact(Reason.ADAPTED_MAGNIFICATION, written=0.5, yours=0.0, held="width"),
        "magnification: 0.5 becomes distant (the width of the field holds)",
    ),
    (
        fact(Reason.ADAPTED_FIELD, written_mm=(180.0, 240.0), yours_mm=(180.0, 270.0)),
        "field: 18 × 24 cm becomes 18 × 27 cm (height +3.0 cm: crop to it)",
    ),
    (
        fact(Reason.ADAPTED_FOCAL_LENGTH, written_mm=None, yours_mm=90.0, exact_mm=91.25),
        "focal length: unknown becomes 90 mm (exact would be 91.25 mm)",
    ),
    (
        fact(Reason.ADAPTED_CAMERA_DISTANCE, written_mm=775.0, yours_mm=775.2),
        "camera distance: 77.5 cm becomes 77.5 cm",
    ),
    (
        fact(Reason.ADAPTED_F_NUMBER, written="11", yours="9", exact=8.73, residue_stops=0.09),
        "f-number: f/11 becomes f/9 (+0.09 stops past the exact f/8.73)",
    ),
    (fact(Reason.ADAPTED_DEPTH, written_mm=10.0, yours_mm=5.0), "depth: 10 mm becomes 5 mm (−1.00 stops)"),
    (
        fact(Reason.ADAPTED_EFFECTIVE_F_NUMBER, written=13.02, yours=10.4),
        "effective f-number: f/13 becomes f/10.4",
    ),
    (
        fact(Reason.ADAPTED_DIFFRACTION, written_px=4.61, yours_px=2.33),
        "diffraction disc: 4.6 pixels becomes 2.3 pixels",
    ),
    (fact(Reason.ADAPTED_ISO, written=100.0, yours=200.0), "ISO: 100 becomes 200 (+1.00 stops)"),
    (
        fact(Reason.ADAPTED_SHUTTER, written="1/250", yours="1/125", stops=1.0),
        "shutter: 1/250 s becomes 1/125 s (+1.00 stops)",
    ),
    (
        fact(Reason.ADAPTED_AMBIENT, stops=-0.5),
        "ambient light in the picture: as it was becomes −0.50 stops (prove it again in the new room)",
    ),
    (
        fact(Reason.ADAPTED_LEVEL, "C", written_av=6.0, yours_av=7.0, stops=1.0),
        "C metered at ISO 100: f/8 becomes f/11.3 (+1.00 stops)",
    ),
    (
        fact(Reason.ADAPTED_DISTANCE, "C", written_mm=900.0, yours_mm=1300.0, written_deg=36.9, yours_deg=26.0),
        "C distance: 90 cm becomes 130 cm (apparent size 26°, written 36.9°)",
    ),
    (
        fact(Reason.ADAPTED_POWER, "C", written="125 J", yours="154 J", residue_stops=0.03),
        "C power: 125 J becomes 154 J (+0.03 stops left by the dial)",
    ),
    (
        fact(Reason.NOT_CLOSE_ENOUGH, lens="", greatest=0.25, needed=0.5),
        "your lens goes to 0.25, and 0.5 is needed.",
    ),
    (
        fact(Reason.PERSPECTIVE_UNKNOWN),
        "Perspective: the recipe has neither a camera distance nor a focal length.",
    ),
    (
        fact(Reason.PERSPECTIVE_LOST, written_mm=775.0, yours_mm=430.0, focal_mm=50.0, wanted_focal_mm=90.1),
        "Perspective: from 43 cm instead of 77.5 cm, the only distance at which 50 mm gives this framing. A lens of "
        "90.1 mm would keep it.",
    ),
    (fact(Reason.FRAMING_UNKNOWN), "Framing: the recipe does not say its focal length."),
    (
        fact(Reason.FRAMING_LOST, wanted_focal_mm=75.0, focal_mm=70.0),
        "Framing: 75 mm is needed from the same place, and this lens has 70 mm.",
    ),
    (fact(Reason.DEPTH_LOST, exact=34.2, mark="22"), "Depth: f/34.2 is needed, and this lens stands at f/22."),
    (
        fact(Reason.ISO_OUT_OF_RANGE, camera="body", written=50.0, yours=100.0),
        "ISO 50 is outside the range of body; 100 is the nearest.",
    ),
    (
        fact(Reason.PAST_SYNC_SPEED, camera="", written="1/250", yours="1/125"),
        "1/250 s is past the sync speed of your camera: 1/125 s instead.",
    ),
    (
        fact(Reason.NEVER_METERED, "A"),
        "A was never metered: its level cannot be told, only its ratio judged by eye.",
    ),
    (
        Fact(
            Reason.SOFTNESS_LOST,
            "A",
            MINE
            | BOX
            | {"head": "", "modifier": ""}
            | {"distance_mm": 900.0, "needed_mm": 800.0, "written_deg": 41.1, "yours_deg": 36.9},
        ),
        "Softness of A: your flash head, 250 J with disc 60 cm at 90 cm: apparent size 36.9°, written 41.1°; it would "
        "have to stand at 80 cm.",
    ),
    (
        Fact(Reason.NO_METER_READING, "A", MINE | {"head": "", "modifier": None, "level_av": None}),
        "A: your flash head, 250 J has no meter reading, so its dial cannot be told.",
    ),
    (
        Fact(Reason.NO_METER_READING, "A", {"head": "monolight", "modifier": None, "level_av": 6.0}),
        "A: monolight has no meter reading, so its dial cannot be told. Set it so that it alone meters f/8.",
    ),
    (
        Fact(
            Reason.POWER_OUT_OF_RANGE,
            "C",
            {
                "head": "monolight",
                "modifier": "snoot",
                "residue_stops": -2.0,
                "distance_mm": 900.0,
                "needed_mm": 450.0,
            },
        ),
        "C: the highest mark of monolight with snoot gives 2.0 stops too little; at 45 cm it would do, and look "
        "larger.",
    ),
    (
        Fact(
            Reason.POWER_OUT_OF_RANGE,
            "C",
            {"head": "monolight", "modifier": None, "residue_stops": 1.0, "distance_mm": 900.0, "needed_mm": None},
        ),
        "C: the lowest mark of monolight gives 1.0 stops too much; no distance makes it up.",
    ),
    (
        fact(Reason.ADAPTED_TRIM, from_iso=100.0, yours=80.0, stops=-0.32),
        "dials trimmed together: ISO 100 becomes ISO 80 (−0.32 stops: where their marks come closest)",
    ),
    (
        fact(Reason.LEFT_WITHOUT_A_HEAD, "B", level_av=6.0, from_key_stops=-2.0),
        "B has no head: its light is missing from the picture (it has to meter f/8 alone, −2.0 stops from the key).",
    ),
    (
        Fact(Reason.MADE_HARD, "A", OURS | {"written_deg": 36.9, "distance_mm": 900.0}),
        "A was a soft source, 36.9° large; monolight at 90 cm is a hard one: edges of shadows and highlights come out "
        "sharp.",
    ),
    (
        Fact(Reason.CONTINUOUS_FOR_FLASH, "A", OURS | {"shutter": "1/125"}),
        "A: monolight is continuous where there was flash: the shutter now counts for it (set the meter to 1/125 s), the "
        "room’s light grows with every longer exposure, and nothing freezes what moves.",
    ),
    (
        Fact(Reason.FLASH_FOR_CONTINUOUS, "A", OURS),
        "A: monolight is flash where there was continuous light: the shutter no longer counts for it.",
    ),
    (
        Fact(Reason.RESIDUE_LEFT, "A", OURS | {"residue_stops": 0.4}),
        "A: the dial of monolight leaves it +0.4 stops off.",
    ),
    (
        fact(Reason.WAY_CROP, part=0.5, width_px=3000, height_px=2000),
        "Crop to 50\u00a0% of each side: 3000 × 2000 pixels are left.",
    ),
    (
        fact(Reason.WAY_EXTENSION, extension_mm=10.0, stops=0.25, distance_mm=600.0),
        "10 mm more extension: the camera comes to 60 cm, and 0.2 stops of light are lost (counted above).",
    ),
    (fact(Reason.WAY_LENS, focal_mm=100.0), "A lens of 100 mm."),
    (
        fact(Reason.WAY_STACK, frames=3, step_mm=7.6),
        "A focus stack of 3 frames, 7.6 mm apart: nothing may move.",
    ),
    (fact(Reason.WAY_LESS_DEPTH, depth_mm=11.4, written_mm=19.6), "Less depth: 11.4 mm instead of 19.6 mm."),
    (
        fact(Reason.WAY_DISTANCE, "A", distance_mm=1350.0, yours_deg=36.9),
        "A at 135 cm: it looks 36.9° large from there.",
    ),
    (fact(Reason.WAY_DISTANCE, "A", distance_mm=1350.0, yours_deg=None), "A at 135 cm."),
    (
        fact(Reason.WAY_FACE, "A", size_mm=600.0, distance_mm=900.0),
        "A face of 60 cm for A at 90 cm: a larger modifier, or a diffusing panel, which takes light of its own.",
    ),
    (
        fact(Reason.WAY_SHEETS, "B", stops=2.0),
        "2.0 stops of ND or diffusion on B: nothing else changes; diffusion makes it softer, and sheets near a hot lamp "
        "scorch.",
    ),
    (
        fact(Reason.WAY_ISO, mark="400", stops=2.0),
        "ISO 400: noise, and every other light and the room −2.0 stops to make up for it.",
    ),
    (
        fact(Reason.WAY_APERTURE, mark="5.6", stops=-2.0, missing_stops=0.0),
        "f/5.6: less depth, and the other lights as much down.",
    ),
    (
        fact(Reason.WAY_APERTURE, mark="22", stops=1.0, missing_stops=1.0),
        "f/22 (the end of the lens: 1.0 stops are still missing): more depth and more diffraction, and the other lights "
        "as much up.",
    ),
    (
        fact(Reason.WAY_POPS, "A", pops=4, stops=2.0),
        "4 pops of A in one exposure in a dark room: nothing may move, and the other lights fire once.",
    ),
    (
        fact(Reason.WAY_LONGER, mark="1/30", stops=2.0),
        "1/30 s: the room and every other continuous light +2.0 stops, and nothing may move.",
    ),
    (
        fact(Reason.WAY_DARKEN, stops=1.0),
        "Darken the room by 1.0 stops, and prove it: a longer exposure gathers that much more of it.",
    ),
    (fact(Reason.WAY_DARK_ROOM), "Darken the room and prove it at the shutter speed that is used."),
    (fact(Reason.WAY_STILL, shutter="1/30"), "Nothing moves for 1/30 s: tripod, a still subject, no draught."),
    (
        fact(Reason.WAY_CARD, "B"),
        "A white card or a reflector where B stood: it gives back less than falls on it, so it stays well under the key, "
        "and has no direction of its own.",
    ),
    (
        fact(Reason.WAY_SECOND_EXPOSURE, "B"),
        "Two frames, a head moved to B for the second, added as light: camera and subject stand still.",
    ),
    (
        fact(
            Reason.LENS_CHOSEN,
            lens="85 mm",
            focal_mm=85.0,
            of=3,
            written_mm=600.0,
            yours_mm=510.0,
            needed=0.2,
            greatest=None,
        ),
        "Lens: 85 mm at 85 mm, the nearest of 3: the camera stands at 51 cm, written 60 cm.",
    ),
    (
        Fact(
            Reason.HEAD_CHOSEN,
            "A",
            OURS | {"is_own": False, "yours_j": 400.0, "written_j": 500.0, "yours_mm": None, "written_mm": 600.0},
        ),
        "A: monolight, the nearest that was free (400 J for 500 J).",
    ),
    (Fact(Reason.HEAD_CHOSEN, "A", OURS | {"is_own": True}), "A: monolight, the recipe’s own."),
    (
        fact(Reason.FROM_TEST_FRAME, "A", mark="8", stops=-1.3),
        "A: by your test frame at f/8, which reads −1.3 stops.",
    ),
    (
        fact(Reason.FROM_GUIDE_NUMBER, "A", guide_number_m=45.0),
        "A: by the guide number 45 m, which is an estimate: expose one frame at what comes out, and type in what it "
        "reads.",
    ),
    (fact(Reason.NO_HEAD_LEFT, "B"), "B: every head stands for a brighter light already."),
    (fact(Reason.CAMERA_TOLD, width_mm=36.0, height_mm=24.0), "camera 36 × 24 mm"),
    (fact(Reason.LENS_TOLD, shortest_mm=24.0, longest_mm=70.0), "24–70 mm lens"),
    (Fact(Reason.HEAD_TOLD, values=MINE), "flash head, 250 J"),
    (Fact(Reason.MODIFIER_TOLD, values=BOX), "disc 60 cm"),
    (fact(Reason.FILTER_TOLD, kind="gel", loss_stops=0.3, shift_mired=-64.0), "gel, takes 0.3 stops, −64 mired"),
    (fact(Reason.CHANGED, cause="aperture", was="8", now="11"), "aperture f/8 to f/11"),
    (fact(Reason.FITTED, "A", cause="modifier"), "A modifier now"),
    (fact(Reason.PATCH_TOLD, "label", number=2), "patch 2"),
    (
        fact(
            Reason.STEP_SUBJECT,
            subject="scent bottle",
            width_mm=70.0,
            height_mm=180.0,
            depth_mm=None,
            turned_deg=20.0,
            tilted_deg=-10.0,
        ),
        "Subject: scent bottle; 7 × 18 cm wide and high, turned 20° to the right, tilted 10° forward.",
    ),
    (
        fact(Reason.STEP_TABLE, width_mm=1200.0, depth_mm=600.0, below_mm=90.0),
        "Support: 120 × 60 cm, its top 9 cm under the middle of the subject.",
    ),
    (
        fact(Reason.CAMERA_STANDS, x_mm=0.0, y_mm=-770.0, z_mm=50.0, known="taped"),
        "Lens 77.2 cm from the subject, 5 cm above (taped).",
    ),
    (fact(Reason.CAMERA_UPRIGHT), "The picture is upright."),
    (fact(Reason.SET_POPS, pops=4), "4 pops for each frame."),
    (fact(Reason.STEP_PROVE_AMBIENT), "Every lamp off: prove the light of the room at these settings."),
    (
        fact(Reason.ROOM_LIES_BELOW, "label", margin_stops=6.9, at_least=False, by_eye=False),
        "The room lies 6.9 stops below the wanted level at label.",
    ),
    (
        fact(Reason.LOOK_FOR_ROOM_LIGHT),
        "Brighter than that: windows, house lights, screens, modelling lamps; then a shorter shutter up to sync speed.",
    ),
    (
        fact(
            Reason.STEP_THING,
            "white card",
            held_by="boom",
            kind="reflector",
            width_mm=300.0,
            height_mm=200.0,
            x_mm=0.0,
            y_mm=-300.0,
            z_mm=0.0,
            known="estimated",
        ),
        "White card (reflector or panel): 30 × 20 cm, 30 cm from the subject, in front, level with it (estimated), on a boom.",
    ),
    (
        fact(
            Reason.STEP_LIGHT,
            "A",
            light="key A",
            head="monolight",
            modifier="softbox",
            face_width_mm=600.0,
            face_height_mm=900.0,
            filters=("gel",),
            distance_mm=900.0,
            carried=True,
            held_by="stand",
            shines_on="subject",
            onto="",
            direction="left",
            mark="125 J",
            lamp=False,
            x_mm=None,
            y_mm=None,
            z_mm=None,
            known=None,
            aim_x_mm=None,
            aim_y_mm=None,
            aim_z_mm=None,
        ),
        "Key A: monolight with softbox (60 × 90 cm), gel. 90 cm from the subject (carried over), from the left, on a stand. Power 125 J.",
    ),
    (
        fact(Reason.METERS_ALONE, "A", light="key A", level_av=6.5, here=True),
        "Key A alone meters f/9.51 at the subject, at ISO 100.",
    ),
    (
        fact(Reason.READS_ALONE, "A", patch="label", level_stops=0.0, within=0.1),
        "With it alone label reads 0.0 ± 0.1.",
    ),
    (
        fact(Reason.LOOK_FOR_FILTERS, "A", filters=("ND 0.6",), stops=2.0, shift_mired=0.0),
        "2.0 stops over: is ND 0.6 on A?",
    ),
    (fact(Reason.LOOK_FOR_DISTANCE, "A", off_mm=50.0, stops=0.5), "A 5 cm too near gives +0.5 stops."),
    (
        fact(Reason.STEP_STACK, frames=12, depth_mm=3.0, step_mm=0.29, most_step_mm=0.55),
        "Focus stack: 12 frames through 3 mm, focus moved 0.29 mm from one to the next. Nothing else changes between them. 0.55 mm is the most at this f-number, with a third to overlap.",
    ),
    (
        fact(Reason.STEP_TOGETHER, lights=("key A", "rim B")),
        "Light key A and rim B together, as they stand, and expose.",
    ),
    (fact(Reason.READS_TOGETHER, "label", patch="label", level_stops=0.0, within=0.1), "Label reads 0.0 ± 0.1."),
    (
        fact(Reason.LOOK_FOR_CAMERA),
        "All off by the same: f-number, ISO, filters on the lens, magnification. Each off by its own: the lights.",
    ),
    (
        fact(Reason.LOOK_FOR_LIGHT, "A", patch="label", share=0.9),
        "Label off alone: look at A first, which gives 90\u00a0% of its light.",
    ),
    (
        fact(Reason.OPEN_FIELD, magnification=0.5, focal_mm=100.0, distance_mm=300.0, by_field_mm=450.0),
        "Field, focal length and distance contradict each other: 0.5 with 100 mm would put the lens 45 cm from the subject, and 30 cm is logged.",
    ),
    (
        fact(Reason.OPEN_CAMERA_TWICE, distance_mm=770.0, plan_mm=900.0),
        "The camera stands 90 cm from the subject on the plan, and 77 cm in the set-up.",
    ),
    (
        fact(Reason.OPEN_UNEXPLAINED, "label", stops=0.4, within=0.1),
        "Label read +0.4 stops from what the log predicts, where ± 0.1 was to be expected: the log is wrong, or the light was.",
    ),
    (
        fact(Reason.OPEN_SHARES, "label", off_stops=0.3),
        "At label the lights alone add up to 0.3 stops more than all of them together read: one of them, or the room, was otherwise.",
    ),
    (
        fact(Reason.OPEN_SHONE_ON, "C", light="rim C", shines_on="panel"),
        "Rim C shines on a panel that is not on the plan, or is not aimed at it.",
    ),
    (fact(Reason.OPEN_POSITION, "C", light="rim C"), "Rim C has no position on the plan."),
    (
        fact(Reason.OPEN_SIZE, "white card", width_mm=300.0, height_mm=None),
        "The size of white card is not known: 30 cm is what it was put up with.",
    ),
    (fact(Reason.OPEN_UNKNOWN, "A", what="meter reading"), "Meter reading of A is unknown."),
    (fact(Reason.KNOWN_FIGURE, "A", what="distance"), "distance of A"),
    (
        fact(Reason.THING_RESIZED, "white card", was_mm=(200.0, 300.0), now_mm=(300.0, 300.0)),
        "white card 20 × 30 cm to 30 × 30 cm",
    ),
    (fact(Reason.READ_CHANGED, "label", was_stops=-0.4, now_stops=0.0), "label read −0.4, now 0.0"),
    (fact(Reason.STACK_TAKEN, frames=12), "a focus stack of 12 frames"),
    (
        fact(Reason.RATIO, "B", key="key", light="fill", from_key_stops=-2.0, here=True),
        "key to fill: 4.0:1, 2.0 stops under, as metered",
    ),
    (fact(Reason.USUAL_TOLERANCE, "level", patch="", within=0.1, unit="stops"), "each light's level: ± 0.1 stops"),
    (
        fact(Reason.NOT_ASKED_OF_FRAMES, figures=("room", "format")),
        "Frames are not searched by room and format; recipes are.",
    ),
    (fact(Reason.SOME_WORDS_FOUND), "No recipe has every word; these have some."),
    (
        fact(Reason.TOO_MANY_TO_RANK, counted=10_000),
        "More than 10,000 recipes have these words, and only the newest of them are ranked. Another word narrows it.",
    ),
)


@pytest.mark.parametrize(("told", "sentence"), SAID, ids=lambda each: each.reason if isinstance(each, Fact) else "")
def test_a_fact_is_said(told: Fact, sentence: str) -> None:
    assert say(told) == sentence


def test_every_reason_is_said_above_and_has_its_words_in_one_place() -> None:
    assert {told.reason for told, _ in SAID} == set(Reason)
    assert all(sum(reason in words for words in saying._ALL) == 1 for reason in Reason)


@pytest.mark.parametrize("told", [told for told, _ in SAID], ids=lambda each: each.reason)
def test_a_stored_fact_is_read_as_it_was(told: Fact) -> None:
    assert read_facts(facts_json([told])) == (told,)


@pytest.mark.parametrize(
    ("told", "sentence"),
    [
        (fact(Reason.LIGHT_MOVED, "A", was_mm=254.0, now_mm=304.8), "A distance 10 in to 12 in (+2.0 in)"),
        (fact(Reason.SET_DISTANCE, "A", distance_mm=600.0), "Distance 23.6 in, face to subject."),
        (
            fact(Reason.ADAPTED_FIELD, written_mm=(254.0, 254.0), yours_mm=(254.0, 304.8)),
            "field: 10 × 10 in becomes 10 × 12 in (height +2.0 in: crop to it)",
        ),
    ],
)
def test_a_length_is_said_as_the_reader_likes_it(told: Fact, sentence: str) -> None:
    assert say(told, Lengths(inches=True)) == sentence


@given(st.floats(1.0, 1e5), st.booleans())
def test_a_distance_is_said_in_one_unit_throughout(distance_mm: float, inches: bool) -> None:
    words = say(fact(Reason.LIGHT_MOVED, "A", was_mm=500.0, now_mm=distance_mm), Lengths(inches=inches))

    assert (" cm" in words, " in" in words) == (not inches, inches)
