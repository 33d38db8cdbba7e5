"""Readings that cannot stand together: which two, where they are in the file, and what each would imply.

Only what is impossible is refused; what is merely unlikely is asked by work/readings.
"""

from collections.abc import Callable
from datetime import datetime

from airtrim.core.errors import JobError
from airtrim.job.measured import Measured
from airtrim.job.model import Job, Readings

Line = Callable[[int, str], int | None]
#: Two thermometers may part by this much, K (1.3 F and 0.1 % each [title24ra3]): a wet-bulb so little above the dry-bulb is air
#: near saturation.
TWO_THERMOMETERS_K = 1.5
#: Two gauges of the high side may part by this much (7 psi each [title24ra3]).
TWO_GAUGES_PA = 2.0 * 7.0 * 6894.757
#: Watts above volts times amps by more than this are no meter's error; up to it they are asked about [judgement].
WATTS_ABOVE = 1.5


def check_readings(job: Job, where: str, line_of: Line) -> None:
    """Raise `JobError` at the first contradiction; `line_of(index, key)` finds the line of a key in the file."""
    for index, reading in enumerate(job.readings):

        def place(key: str, index: int = index) -> str:
            return f"{where}, line {line_of(index, key)}, readings.{index + 1}.{key}"

        _air(reading, place)
        _pressures(reading, place)
        _electrical(reading, place)
        _order(reading, place)
        _parts(reading, place)
        if index:
            _after(job.readings[index - 1], reading, place)


def _air(reading: Readings, place: Callable[[str], str]) -> None:
    for where in ("return", "grille", "supply"):
        wet, dry = getattr(reading, f"{where}_wet_bulb"), getattr(reading, f"{where}_dry_bulb")
        if wet is not None and dry is not None and wet.si > dry.si + TWO_THERMOMETERS_K:
            raise JobError(
                f"{place(f'{where}_wet_bulb')}: {wet.text} wet-bulb is above {dry.text} dry-bulb ({where}_dry_bulb), which cannot "
                f"be. If the dry-bulb is right, the wet-bulb is {dry.text} at most (saturated air); if the wet-bulb is right, the "
                f"dry-bulb is {wet.text} at least. The two may be swapped."
            )
    back, out = reading.return_dry_bulb, reading.supply_dry_bulb
    if back is not None and out is not None:
        if reading.operation == "cooling" and out.si >= back.si:
            raise JobError(
                f"{place('supply_dry_bulb')}: supply {out.text} is not colder than return {back.text} (return_dry_bulb) while "
                "cooling, which cannot be. If the return is right, the supply is below it or nothing cools; if the supply is right,"
                f' the return is above {out.text}. Swap them, read again once the system cools, or write operation = "heating".'
            )
        if reading.operation == "heating" and out.si <= back.si:
            raise JobError(
                f"{place('supply_dry_bulb')}: supply {out.text} is not warmer than return {back.text} (return_dry_bulb) while "
                "heating, which cannot be. If the return is right, the supply is above it or nothing heats; if the supply is right,"
                f" the return is below {out.text}. Swap them, or read again once the heat is on."
            )
    suction = reading.saturated_suction
    if suction is not None and out is not None and reading.operation == "cooling" and suction.si > out.si:
        raise JobError(
            f"{place('saturated_suction')}: saturated suction {suction.text} is warmer than supply air {out.text} "
            f"(supply_dry_bulb), which cannot be. If the gauge is right, the supply air is {suction.text} at least; if the "
            f"thermometer is right, saturated suction is below {out.text}. Check gauge, refrigerant and thermometer."
        )


def _pressures(reading: Readings, place: Callable[[str], str]) -> None:
    """While cooling the compressor's far side is the higher one, and its discharge no lower than the liquid line behind it."""
    low = reading.suction_pressure
    if reading.operation != "cooling":
        return
    for name in ("liquid_pressure", "discharge_pressure"):
        high = getattr(reading, name)
        if low is not None and high is not None and high.si <= low.si:
            raise JobError(
                f"{place(name)}: {name.replace('_', ' ')} {high.text} is not above suction {low.text} (suction_pressure) while "
                f"cooling, which cannot be. If the suction is right, the high side is above {low.text}; if {high.text} is right, "
                "the suction is below it. The hoses may be swapped, or the compressor was not running."
            )
    line, discharge = reading.liquid_pressure, reading.discharge_pressure
    if line is not None and discharge is not None and line.si > discharge.si + TWO_GAUGES_PA:
        raise JobError(
            f"{place('liquid_pressure')}: liquid {line.text} is above discharge {discharge.text} (discharge_pressure), which "
            f"cannot be: the condenser lies between. If the discharge is right, the liquid line has {discharge.text} at most; if "
            f"the liquid line is right, the discharge has {line.text} at least."
        )


def _electrical(reading: Readings, place: Callable[[str], str]) -> None:
    """A wattmeter cannot show more than volts times amps, both meters' accuracy allowed for."""
    watts, volts, amps = reading.blower_power, reading.blower_volts, reading.blower_amps
    if watts is None or volts is None or amps is None:
        return
    apparent = volts.si * amps.si
    if watts.si > WATTS_ABOVE * apparent:
        raise JobError(
            f"{place('blower_power')}: {watts.text} is far above {volts.text} times {amps.text} (blower_volts, blower_amps), "
            f"{apparent:.0f} VA, which cannot be. If volts and amps are right, the watts are {apparent:.0f} at most; if the watts "
            f"are right, the amps are {watts.si / volts.si:.1f} A at least. Was the whole unit clamped, or one lead of two?"
        )


def _order(reading: Readings, place: Callable[[str], str]) -> None:
    for first, second in zip(reading.log, reading.log[1:], strict=False):
        if second.at.si == first.at.si:
            raise JobError(f"{place('log')}: two rows stand at {second.at.text}; leave one out.")
        if second.at.si < first.at.si:
            raise JobError(
                f"{place('log')}: {second.at.text} comes after {first.at.text}; write the rows in the order of time."
            )


def _parts(reading: Readings, place: Callable[[str], str]) -> None:
    if reading.supply_dry_bulb is not None and reading.supply_dry_bulbs:
        raise JobError(f"{place('supply_dry_bulbs')}: supply_dry_bulb is given as well; leave one of the two out.")
    both = reading.return_wet_bulb is not None and reading.return_relative_humidity is not None
    if both and reading.return_dry_bulb is None:
        raise JobError(f"{place('return_wet_bulb')}: wet-bulb and RH without return_dry_bulb; add the dry-bulb.")
    for number, one in enumerate(reading.traverses, start=1):
        at = f"{place('traverses')}.{number}"
        needed = ("width", "height") if one.shape == "rectangular" else ("diameter",)
        for name in needed:
            if getattr(one, name) is None:
                raise JobError(f"{at}: a {one.shape} duct needs {' and '.join(needed)} inside; add {name}.")
        if bool(one.velocities) == bool(one.velocity_pressures):
            raise JobError(f"{at}: give velocities or velocity_pressures, one of the two, a list for each line.")
    for number, grille in enumerate(reading.grilles, start=1):
        by_speed = grille.velocity is not None and grille.free_area is not None
        if grille.airflow is None and not by_speed:
            raise JobError(
                f"{place('grilles')}.{number}: {grille.name} has no airflow; give airflow, or velocity and free_area."
            )
    plate = reading.plate
    if plate is not None:
        if (plate.airflow_at_1_pa is None) == (plate.open_area is None):
            raise JobError(f"{place('plate')}: give airflow_at_1_pa, or open_area, one of the two.")
        if (plate.supply_static_with is None) != (plate.supply_static_without is None):
            raise JobError(
                f"{place('plate')}: supply_static_with and supply_static_without go together; add the other one."
            )
    known = reading.known_point
    if known is not None and known.speed is None and known.static is None:
        raise JobError(f"{place('known_point')}: an airflow alone scales to nothing; add its speed or its static.")


def _after(before: Readings, reading: Readings, place: Callable[[str], str]) -> None:
    if before.time is None or reading.time is None:
        ignored = {"id", "time"}
        same = before.model_dump(exclude=ignored) == reading.model_dump(exclude=ignored)
        if same and reading.model_fields_set - ignored - {"operation", "tap"}:
            named = min(reading.model_fields_set - ignored - {"operation", "tap"})
            raise JobError(
                f"{place(named)}: every value is that of the reading above it; leave one of the two out, or give both a time."
            )
        return
    first, second = datetime.fromisoformat(before.time), datetime.fromisoformat(reading.time)
    if second < first:
        raise JobError(
            f"{place('time')}: {reading.time} lies before the reading above it ({before.time}); put them in the order of time."
        )
    same = (before.operation, before.tap) == (reading.operation, reading.tap)
    if second == first and same and _doubled(before, reading):
        raise JobError(
            f"{place('time')}: {', '.join(_doubled(before, reading))} stand twice at {reading.time}; leave one reading out."
        )


def _doubled(before: Readings, reading: Readings) -> list[str]:
    """Readings that both hold."""
    return [
        name
        for name in type(reading).model_fields
        if isinstance(getattr(reading, name), Measured) and isinstance(getattr(before, name), Measured)
    ]
