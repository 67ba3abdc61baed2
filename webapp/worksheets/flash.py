"""Flash: energy on the dial, guide numbers, and how long the light lasts."""

from __future__ import annotations

from typing import Any, Final

from pydantic import Field

from webapp.errors import InvalidValue
from webapp.facts import Fact, fact
from webapp.optics import diffraction, flash
from webapp.optics.flash import MILLIMETRES_PER_METRE, Pulse
from webapp.optics.working import Step
from webapp.worksheets.parameters import FNumber, NotNegative, Parameters, Positive, Power, Seconds, Stops
from webapp.worksheets.reasons import Reason
from webapp.worksheets.sheet import Gives, Sheet, Worksheet, at, one_of

# --- energy


class FlashEnergyAsks(Parameters):
    full_energy_j: Positive = Field(examples=["400"])
    power_stops: Power = Field(examples=["1/4"])
    change_stops: Stops = Field(examples=["3.5"])
    lowest_power_stops: Power | None = Field(None, examples=["1/64"])
    step_stops: Positive | None = Field(None, examples=["0.1"])


def _flash_energy(asked: FlashEnergyAsks) -> Sheet:
    full, power = asked.full_energy_j, asked.power_stops
    with at("power_stops"):
        flash.energy_at_j(full, power)
    if asked.lowest_power_stops is not None:
        with at("lowest_power_stops"):
            flash.energy_at_j(full, asked.lowest_power_stops)
    with at("change_stops"):
        changed = flash.change_energy(
            full,
            power,
            asked.change_stops,
            lowest_power_stops=asked.lowest_power_stops,
            step_stops=asked.step_stops,
        )
    return Sheet(
        {
            "energy_j": changed.energy_j,
            "to_energy_j": changed.to_energy_j,
            "to_power_stops": changed.to_power_stops,
            "residue_stops": changed.residue_stops,
            "pops": changed.pops,
            "residue_with_pops_stops": changed.residue_with_pops_stops,
        },
        tuple(_energy_steps(asked, changed)),
        tuple(_energy_cautions(changed)),
    )


def _energy_steps(asked: FlashEnergyAsks, changed: flash.EnergyChange) -> list[Step]:
    change = flash.energy_change_stops(changed.energy_j, changed.to_energy_j)
    steps = [
        flash.ENERGY.worked(changed.energy_j, J_full=asked.full_energy_j, p=asked.power_stops),
        flash.ENERGY.worked(changed.to_energy_j, J_full=asked.full_energy_j, p=changed.to_power_stops),
        flash.ENERGY_CHANGE.worked(change, J1=changed.energy_j, J2=changed.to_energy_j),
    ]
    if changed.pops > 1:
        steps.append(flash.POPS.worked(flash.pops_stops(changed.pops), n=float(changed.pops)))
    return steps


def _energy_cautions(changed: flash.EnergyChange) -> list[Fact]:
    cautions = [fact(Reason.JOULES_RANK_ONE_HEAD)]
    if changed.pops > 1:
        cautions.append(fact(Reason.FULL_IS_NOT_ENOUGH, pops=changed.pops))
    elif changed.residue_stops < -_SHOWN_WITHIN_STOPS:
        cautions.append(fact(Reason.DIAL_ENDS_BEFORE))
    return cautions


_SHOWN_WITHIN_STOPS: Final = 0.05


FLASH_ENERGY: Final = Worksheet(
    name="flash-energy",
    asks=FlashEnergyAsks,
    work=_flash_energy,
    gives=(
        Gives("to_power_stops"),
        Gives("to_energy_j"),
        Gives("pops"),
        Gives("residue_stops"),
        Gives("residue_with_pops_stops"),
        Gives("energy_j"),
    ),
    blame="change_stops",
)

# --- guide number


class GuideNumberAsks(Parameters):
    guide_number_m: Positive | None = Field(None, examples=["40"])
    f_number: FNumber | None = None
    distance_mm: Positive | None = Field(None, examples=["2500"])
    iso: Positive = 100.0
    power_stops: Power = 0.0


_THREE: Final = ("guide_number_m", "f_number", "distance_mm")


def _guide_number(asked: GuideNumberAsks) -> Sheet:
    sought = _the_third(asked)
    with at("power_stops"):
        flash.energy_at_j(1.0, asked.power_stops)
    setting: dict[str, Any] = {"iso": asked.iso, "power_stops": asked.power_stops}
    gn, n, d = asked.guide_number_m, asked.f_number, asked.distance_mm
    if gn is not None and d is not None:
        n = flash.flash_f_number(gn, d, **setting)
        at_setting = flash.guide_number_at(gn, **setting)
        step = flash.FLASH_F_NUMBER.worked(n, GN_set=at_setting, d=d / MILLIMETRES_PER_METRE)
        found = n
    elif gn is not None and n is not None:
        found = flash.flash_distance_mm(gn, n, **setting)
        at_setting = flash.guide_number_at(gn, **setting)
        step = flash.FLASH_DISTANCE.worked(found / MILLIMETRES_PER_METRE, GN_set=at_setting, N=n)
    else:
        assert n is not None
        assert d is not None
        found = gn = flash.guide_number_from_m(n, d, **setting)
        at_setting = n * d / MILLIMETRES_PER_METRE
        step = flash.GUIDE_NUMBER.worked(at_setting, N=n, d=d / MILLIMETRES_PER_METRE)
    at_this_setting = flash.GUIDE_NUMBER_AT.worked(at_setting, GN=gn, S=asked.iso, p=asked.power_stops)
    working = (step, at_this_setting) if sought == "guide_number_m" else (at_this_setting, step)
    return Sheet(
        {sought: found, "guide_number_at_setting_m": at_setting},
        working,
        (fact(Reason.COUNTED_FROM_FLASH),),
    )


def _the_third(asked: GuideNumberAsks) -> str:
    missing = [name for name in _THREE if getattr(asked, name) is None]
    if len(missing) == 1:
        return missing[0]
    wanted = "guide number, f-number and distance"
    if not missing:
        raise InvalidValue("f_number", f"Leave the one of {wanted} empty that is sought; all three are given.")
    raise InvalidValue(missing[0], f"Give two of {wanted}; the third follows.")


GUIDE_NUMBER: Final = Worksheet(
    name="guide-number",
    asks=GuideNumberAsks,
    work=_guide_number,
    gives=(Gives("guide_number_m"), Gives("f_number"), Gives("distance_mm"), Gives("guide_number_at_setting_m")),
    blame="iso",
)

# --- duration


class FlashDurationAsks(Parameters):
    t_half_s: Seconds | None = Field(None, examples=["1/1000"])
    t_tenth_s: Seconds | None = None
    speed_m_s: NotNegative = Field(examples=["1"])
    magnification: NotNegative = Field(examples=["1:5"])
    pixel_pitch_um: Positive = Field(examples=["4.5"])
    pulse: Pulse = Pulse.EXPONENTIAL


def _flash_duration(asked: FlashDurationAsks) -> Sheet:
    one_of(asked, "t_half_s", "t_tenth_s")
    ratio = flash.TENTH_OVER_HALF[asked.pulse]
    if asked.t_half_s is not None:
        half, tenth = asked.t_half_s, flash.tenth_duration_s(asked.t_half_s, asked.pulse)
    else:
        assert asked.t_tenth_s is not None
        half, tenth = flash.half_duration_s(asked.t_tenth_s, asked.pulse), asked.t_tenth_s
    blur = flash.motion_blur_mm(asked.magnification, asked.speed_m_s, tenth)
    pixels = diffraction.in_pixels(blur, asked.pixel_pitch_um)
    return Sheet(
        {"t_half_s": half, "t_tenth_s": tenth, "blur_mm": blur, "blur_px": pixels},
        (
            flash.TENTH_DURATION.worked(tenth, t_half=half, r=ratio),
            flash.MOTION_BLUR.worked(blur, m=asked.magnification, v=asked.speed_m_s, t=tenth),
            diffraction.IN_PIXELS.worked(pixels, x=blur, p=asked.pixel_pitch_um),
        ),
        (fact(Reason.BLUR_OVER_TENTH),),
    )


FLASH_DURATION: Final = Worksheet(
    name="flash-duration",
    asks=FlashDurationAsks,
    work=_flash_duration,
    gives=(Gives("blur_px"), Gives("blur_mm"), Gives("t_tenth_s"), Gives("t_half_s")),
    blame="speed_m_s",
)
