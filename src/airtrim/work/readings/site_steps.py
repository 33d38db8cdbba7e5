"""What to do at the house where a sign or a reading asks for it, step by step in the trade's order, with this job's own figures.

Each set of steps is {id, because, steps}: `because` and `steps` are messages {id, values} as everywhere in the readings. They come
before any year is run and need no airflow: where it is known, it goes into them. The order within a set is the trade's
[common-practice]: what costs nothing and can hurt nobody first, airflow before refrigerant.
"""

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

from airtrim.job.checks import filter_area_m2
from airtrim.job.model import Job
from airtrim.work.readings.iced import SOONEST_THAW_S
from airtrim.work.readings.point import Point, amount
from airtrim.work.readings.pressures import external_static
from airtrim.work.readings.uncertain import Uncertain

CFM, TON_W, IN_WC = 0.0004719474432, 3516.853, 249.0889
#: Free area of returns: above 400 ft/min a grille is heard; of filters: above 300 ft/min [common-practice]. m/s.
QUIET_GRILLE_M_S, QUIET_FILTER_M_S = 2.032, 1.524
#: The floor of a fixed setting in wet climates, 350 cfm/ton [common-practice], m3/s per W.
FLOOR_PER_W = 350.0 * CFM / TON_W
#: A furnace's rise where nobody read the plate: 40 to 70 F, aim for the middle [common-practice]; heat given of heat burnt.
USUAL_RISE_K, EFFICIENCY = (40.0 / 1.8, 70.0 / 1.8), 0.80
#: Heat of standard air a degree, J/m3 K: 1.08 Btu/h per cfm and F [common-practice].
AIR_J_M3_K = 1.08 * 0.29307107 * 1.8 / CFM
#: Output above this per floor area is more furnace than most houses need, W/m2: 45 Btu/h ft2 [judgement].
LARGE_FURNACE_W_M2 = 45.0 * 0.29307107 / 0.09290304
#: Indoors below this relative humidity wood cracks and sparks fly [common-practice].
TOO_DRY = 0.30
MICRO = 1e6

Steps = dict[str, Any]


def site_steps(job: Job, points: list[Point], airflow_m3_s: Uncertain | None) -> list[Steps]:
    """The sets of steps that this job's signs and readings ask for, ice first; `airflow_m3_s` that of the tap in use, cooling."""
    air = None if airflow_m3_s is None else airflow_m3_s.value
    wanted: tuple[tuple[bool, Callable[[], Steps]], ...] = (
        (bool(points) and points[-1].iced != "", lambda: _thaw(points)),
        (_has(job, "blower_hums_not_turning"), lambda: _blower_stands(job)),
        (_has(job, "limit_switch_trips"), lambda: _limit_trips(job)),
        (_has(job, "whistle_at_grille"), lambda: _whistle(air)),
        (_has(job, "hum_at_low_speed"), lambda: _hum(job, points)),
        (_control_on_tap(job) or _has(job, "control_fails_again"), lambda: _control(job)),
        (_loud_electronic(job), lambda: _loud_motor(points)),
        (_doors_asked(job, points), lambda: _doors(points)),
        (_has(job, "registers_drip"), lambda: _drips(points)),
        (is_over_dry(job), lambda: _over_dry(job)),
    )
    return [make() for asked, make in wanted if asked]


def is_over_dry(job: Job) -> bool:
    """Whether the complaint is dry air: said, sparks, or a humidity below 30 %."""
    humidity = job.complaint.relative_humidity
    said = "too_dry" in job.complaint.kinds or _has(job, "static_shocks")
    return said or (humidity is not None and humidity.si < TOO_DRY)


def _has(job: Job, sign: str) -> bool:
    return sign in job.complaint.signs


def _step(identity: str, **values: Any) -> dict[str, Any]:
    return {"id": f"site.{identity}", "values": values}


def _set(identity: str, because: dict[str, Any], *steps: dict[str, Any] | None) -> Steps:
    return {"id": identity, "because": because, "steps": [one for one in steps if one is not None]}


def _thaw(points: list[Point]) -> Steps:
    seen = [point for point in points if point.reading.coil == "frosted"][-1]
    look = _step("thaw.look")
    if seen.reading.time is not None:
        soonest = datetime.fromisoformat(seen.reading.time) + timedelta(seconds=SOONEST_THAW_S)
        look = _step("thaw.look_from", time=soonest.strftime("%H:%M"), day=soonest.strftime("%Y-%m-%d"))
    return _set(
        "thaw",
        _step("thaw.because"),
        _step("thaw.off"),
        _step("thaw.no_force"),
        _step("thaw.pan"),
        look,
        _step("thaw.bare"),
        _step("thaw.causes"),
        _step("thaw.charge_last"),
    )


def _blower_stands(job: Job) -> Steps:
    blower = job.blower
    label, metered = blower.run_capacitor, blower.capacitor_read
    if label is not None and metered is not None:
        weak = metered.si < 0.94 * label.si
        capacitor = _step(
            "blower_stands.capacitor_weak" if weak else "blower_stands.capacitor_good",
            read=amount(metered.si * MICRO, "uF"),
            label=amount(label.si * MICRO, "uF"),
        )
    elif label is not None:
        capacitor = _step("blower_stands.capacitor_read", least=amount(0.94 * label.si * MICRO, "uF"))
    else:
        capacitor = _step("blower_stands.capacitor")
    return _set(
        "blower_stands",
        _step("blower_stands.because"),
        _step("blower_stands.dead"),
        capacitor,
        _step("blower_stands.spin"),
        _step("blower_stands.windings"),
        _step("blower_stands.board"),
        _step("blower_stands.match"),
    )


def furnace_output_w(job: Job) -> float | None:
    """Heat the furnace gives the air, W: as on its plate, else its input times its efficiency (80 % where nobody read it)."""
    heat = job.heat
    if heat.furnace_output is not None:
        return heat.furnace_output.si
    if heat.furnace_input is None:
        return None
    return heat.furnace_input.si * (heat.efficiency.si if heat.efficiency is not None else EFFICIENCY)


def _limit_trips(job: Job) -> Steps:
    heat = job.heat
    low = heat.least_rise.si if heat.least_rise is not None else USUAL_RISE_K[0]
    high = heat.greatest_rise.si if heat.greatest_rise is not None else USUAL_RISE_K[1]
    output, area = furnace_output_w(job), filter_area_m2(job)
    band = {"low": amount(low, "K"), "high": amount(high, "K")}
    plate = heat.least_rise is not None and heat.greatest_rise is not None
    rise = _step("limit_trips.rise" if plate else "limit_trips.rise_usual", **band)
    air = filters = moved = large = None
    if output is not None:
        wanted = output / (AIR_J_M3_K * 0.5 * (low + high))
        air = _step(
            "limit_trips.air",
            output=amount(output, "W_heat"),
            wanted=amount(wanted, "m3/s"),
            least=amount(output / (AIR_J_M3_K * high), "m3/s"),
        )
        needed = amount(wanted / QUIET_FILTER_M_S * 1e4, "cm2")
        filters = (
            _step("limit_trips.filter", needed=needed)
            if area is None
            else _step("limit_trips.filter_has", needed=needed, present=amount(area * 1e4, "cm2"))
        )
        if heat.rise_read is not None:
            moved = _step(
                "limit_trips.moved",
                rise=amount(heat.rise_read.si, "K"),
                airflow=amount(output / (AIR_J_M3_K * heat.rise_read.si), "m3/s"),
            )
        per_area = output / job.house.floor_area.si
        if per_area > LARGE_FURNACE_W_M2:
            large = _step("limit_trips.large", output=amount(output, "W_heat"), area=job.house.floor_area.text)
    faster = None
    if heat.tap is not None and heat.tap > 1:
        faster = _step("limit_trips.faster_tap", tap=heat.tap, faster=heat.tap - 1)
    return _set(
        "limit_trips",
        _step("limit_trips.because"),
        _step("limit_trips.keep_filter"),
        rise,
        air,
        moved,
        filters,
        _step("limit_trips.static"),
        faster or _step("limit_trips.faster"),
        _step("limit_trips.gas") if heat.kind in ("furnace", "unknown") else None,
        large,
    )


def _whistle(air_m3_s: float | None) -> Steps:
    area = (
        _step("whistle.velocity_unread")
        if air_m3_s is None
        else _step(
            "whistle.velocity", airflow=amount(air_m3_s, "m3/s"), area=amount(air_m3_s / QUIET_GRILLE_M_S * 1e4, "cm2")
        )
    )
    return _set(
        "whistle",
        _step("whistle.because"),
        _step("whistle.tissue"),
        _step("whistle.louvre"),
        _step("whistle.filter"),
        area,
        _step("whistle.uncover"),
    )


def least_airflow_m3_s(job: Job) -> float:
    """What a blower that is slowed must still move: 350 cfm/ton, the maker's least, and the heater's where it has no own lead."""
    floors = [FLOOR_PER_W * job.system.outdoor_size.si]
    if job.system.least_listed_airflow is not None:
        floors.append(job.system.least_listed_airflow.si)
    if job.heat.least_airflow is not None and not job.heat.own_lead:
        floors.append(job.heat.least_airflow.si)
    return float(max(floors))


def _static_read(points: list[Point]) -> Uncertain | None:
    return next((one for one in (external_static(point) for point in points) if one is not None), None)


def _hum(job: Job, points: list[Point]) -> Steps:
    static = _static_read(points)
    return _set(
        "hum",
        _step("hum.because_control" if job.blower.speed_control == "reduced_voltage" else "hum.because"),
        _step("hum.full_speed"),
        _step("hum.static")
        if static is None
        else _step("hum.static_read", static=amount(static.value, "Pa"), rated=amount(0.5 * IN_WC, "Pa")),
        _step("hum.filter_out"),
        _step("hum.return"),
        _step("hum.least_speed", airflow=amount(least_airflow_m3_s(job), "m3/s")),
        _step("hum.straps"),
    )


def _control_on_tap(job: Job) -> bool:
    return job.blower.speed_control != "none" and job.blower.tap_in_use > 1


def _control(job: Job) -> Steps:
    tap = job.blower.tap_in_use
    both = _control_on_tap(job)
    return _set(
        "control",
        _step("control.because_both", tap=tap) if both else _step("control.because"),
        _step("control.tap_itself", tap=tap) if tap > 1 else _step("control.lower_tap"),
        _step("control.airflow", airflow=amount(least_airflow_m3_s(job), "m3/s")),
        _step("control.never_both"),
        _step("control.heat_and_amps"),
    )


def _loud_electronic(job: Job) -> bool:
    return job.blower.motor in ("constant_torque", "constant_airflow") and "noise" in job.complaint.kinds


def _loud_motor(points: list[Point]) -> Steps:
    static = _static_read(points)
    return _set(
        "loud_motor",
        _step("loud_motor.because"),
        _step("loud_motor.static")
        if static is None
        else _step("loud_motor.static_read", static=amount(static.value, "Pa"), rated=amount(0.5 * IN_WC, "Pa")),
        _step("loud_motor.parts"),
        _step("loud_motor.ducts"),
        _step("loud_motor.setting"),
    )


def _doors_asked(job: Job, points: list[Point]) -> bool:
    return (
        _has(job, "rooms_uneven_doors_shut")
        or "uneven" in job.complaint.kinds
        or any(point.reading.rooms or point.reading.closed_doors_static is not None for point in points)
    )


def _doors(points: list[Point]) -> Steps:
    whole = any(
        point.reading.closed_doors_static is not None and external_static(point) is not None for point in points
    )
    rooms = [room for point in points for room in point.reading.rooms]
    pressed = any(room.pressure is not None for room in rooms)
    sized = any(room.supply is not None for room in rooms)
    return _set(
        "doors",
        _step("doors.because"),
        None if whole else _step("doors.static"),
        None if pressed else _step("doors.pressure"),
        _step("doors.size_told") if sized else _step("doors.size"),
        _step("doors.way"),
        _step("doors.not_this"),
    )


def _drips(points: list[Point]) -> Steps:
    judged = any(point.reading.surfaces for point in points)
    return _set(
        "drips",
        _step("drips.because"),
        _step("drips.read_told") if judged else _step("drips.read"),
        _step("drips.dry"),
        _step("drips.boot"),
        _step("drips.insulation"),
        _step("drips.airflow"),
    )


def _over_dry(job: Job) -> Steps:
    tap, humidity = job.blower.tap_in_use, job.complaint.relative_humidity
    because = (
        _step("over_dry.because")
        if humidity is None
        else _step("over_dry.because_read", humidity=amount(humidity.si, "fraction"))
    )
    return _set(
        "over_dry",
        because,
        _step("over_dry.faster_tap", tap=tap, faster=tap - 1) if tap > 1 else _step("over_dry.faster"),
        _step("over_dry.drying_off"),
        _step("over_dry.leaks"),
        _step("over_dry.check"),
        _step("over_dry.water_last"),
    )
