"""Classes of instruments: how accurate each is taken to be where the job says nothing, and which readings it takes.

An accuracy is a limit each way, `part` of the reading and a fixed `least`; `greater` says that the greater of the two counts, else
they add. A limit of unstated coverage is read as a rectangular band: one sigma is the limit over the
root of three [jcgm100, 4.3.7].
"""

from collections import Counter
from dataclasses import dataclass

from airtrim.core.errors import InputError, JobError
from airtrim.job.measured import measured
from airtrim.job.model import Job
from airtrim.job.readings import Instrument, Readings


@dataclass(frozen=True)
class InstrumentClass:
    """SI limits each way of one class; `unit` is pint's, `days` how long a check holds, `source` a key of REFERENCES.bib."""

    unit: str
    part: float
    least: float
    greater: bool
    days: int
    example: str
    source: str


CLASSES: dict[str, InstrumentClass] = {
    "thermometer": InstrumentClass("delta_degC", 0.001, 1.3 / 1.8, False, 365, "1 F", "title24ra3"),
    "line_thermometer": InstrumentClass("delta_degC", 0.001, 1.3 / 1.8, False, 365, "1 F", "title24ra3"),
    "humidity_probe": InstrumentClass("", 0.0, 0.03, False, 365, "3 %", "from-memory"),
    "manometer": InstrumentClass("Pa", 0.01, 0.2, True, 365, "0.2 Pa", "title24ra3"),
    "refrigerant_gauge": InstrumentClass("Pa", 0.0, 3.5 * 6894.757, False, 31, "3.5 psi", "title24ra3"),
    "voltmeter": InstrumentClass("V", 0.015, 0.5, False, 365, "1 V", "from-memory"),
    "clamp_meter": InstrumentClass("A", 0.02, 0.05, False, 365, "0.1 A", "from-memory"),
    "wattmeter": InstrumentClass("W", 0.02, 2.0, False, 365, "5 W", "from-memory"),
    "anemometer": InstrumentClass("m/s", 0.05, 0.1, False, 365, "20 ft/min", "from-memory"),
    "powered_hood": InstrumentClass("m**3/s", 0.06, 0.0, False, 365, "5 cfm", "lbnl-hoods"),
    "hood": InstrumentClass("m**3/s", 0.20, 0.0, False, 365, "10 cfm", "lbnl-hoods"),
    "flow_plate": InstrumentClass("m**3/s", 0.07, 0.0, False, 1095, "40 cfm", "from-memory"),
    "calibrated_fan": InstrumentClass("m**3/s", 0.05, 0.0, False, 1095, "40 cfm", "from-memory"),
    "tachometer": InstrumentClass("rpm", 0.005, 2.0, False, 1095, "5 rpm", "from-memory"),
    "capacitance_meter": InstrumentClass("F", 0.03, 5e-8, False, 1095, "0.1 uF", "from-memory"),
    "bucket": InstrumentClass("m**3", 0.03, 0.0, False, 3650, "2 floz", "from-memory"),
    "gas_meter": InstrumentClass("m**3", 0.02, 0.0, False, 3650, "0.05 ft3", "from-memory"),
}
#: The liquid line's gauge has a wider scale: 7 psi (RA3 2013).
HIGH_SIDE_LEAST_PA = 7.0 * 6894.757
HIGH_SIDE = ("liquid_pressure", "discharge_pressure")

#: Which class takes which reading; nested readings by the name of their table.
KIND_OF: dict[str, str] = {
    **dict.fromkeys(
        (
            "return_dry_bulb", "return_wet_bulb", "grille_dry_bulb", "grille_wet_bulb", "supply_dry_bulb",
            "supply_wet_bulb", "outdoor_dry_bulb", "air_at_fan", "surface_air",
        ),
        "thermometer",
    ),
    **dict.fromkeys(("suction_line", "liquid_line", "surface"), "line_thermometer"),
    **dict.fromkeys(("return_relative_humidity", "supply_relative_humidity", "surface_humidity"), "humidity_probe"),
    **dict.fromkeys(
        (
            "total_external_static", "closed_doors_static", "static_before_filter", "static_after_filter",
            "static_before_coil", "static_after_coil", "static_supply", "rooms", "traverses", "plate_drop", "matching",
        ),
        "manometer",
    ),
    **dict.fromkeys(("suction_pressure", "liquid_pressure", "discharge_pressure"), "refrigerant_gauge"),
    **dict.fromkeys(("strip_volts", "blower_volts", "capacitor_volts"), "voltmeter"),
    **dict.fromkeys(("strip_amps", "blower_amps", "capacitor_amps"), "clamp_meter"),
    "blower_power": "wattmeter",
    "grille_velocities": "anemometer",
    "traverse_velocities": "anemometer",
    "grilles": "hood",
    "plate": "flow_plate",
    "fan_airflow": "calibrated_fan",
    "blower_speed": "tachometer",
    "capacitor_read": "capacitance_meter",
    "condensate": "bucket",
    "gas": "gas_meter",
}  # fmt: skip
#: A powered hood may stand in for a plain one.
ALSO = {"hood": ("hood", "powered_hood")}


@dataclass(frozen=True)
class Accuracy:
    """Who took a reading (readings of one `who` share its error) and the limit each way, SI."""

    who: str
    limit: float
    named: bool


def accuracy_of(job: Job, name: str, value_si: float) -> Accuracy:
    """Instrument and accuracy of one reading; `name` a key of `KIND_OF`, `value_si` its value."""
    kind = KIND_OF[name]
    found = instrument_for(job, name)
    base = CLASSES[found.kind if found else kind]
    part, least = base.part, HIGH_SIDE_LEAST_PA if name in HIGH_SIDE else base.least
    greater = base.greater
    if found is not None and (found.part_of_reading is not None or found.least is not None):
        part = found.part_of_reading.si if found.part_of_reading is not None else 0.0
        least = least_si(found) if found.least is not None else 0.0
    sizes = part * abs(value_si), least
    # thermometers are taken to be one at each place, all else one instrument for all readings of its class
    own = name if kind in ("thermometer", "line_thermometer", "humidity_probe", "refrigerant_gauge") else kind
    return Accuracy(found.id if found else own, max(sizes) if greater else sum(sizes), found is not None)


def instrument_for(job: Job, name: str) -> Instrument | None:
    """The listed instrument that took this reading: the one that names it, else the only one of its kind that names none."""
    kinds = ALSO.get(KIND_OF[name], (KIND_OF[name],))
    of_kind = [one for one in job.instruments if one.kind in kinds]
    naming = [one for one in of_kind if name in one.used_for]
    free = [one for one in of_kind if not one.used_for]
    return naming[0] if naming else free[0] if len(free) == 1 else None


def least_si(instrument: Instrument) -> float:
    """The fixed part of a listed instrument's accuracy, SI; raises `UnitError` for a wrong unit."""
    base = CLASSES[instrument.kind]
    text = str(instrument.least)
    return measured(text, base.unit, 0.0, 1e6, f'"least" of the instrument {instrument.id}', base.example).si


def check_instruments(job: Job, where: str) -> None:
    """Raise `JobError` for instruments that cannot be used as they stand: twice the same id, a wrong unit, an unknown reading."""
    for number, one in enumerate(job.instruments, start=1):
        at = f"{where}, instruments.{number}"
        if [other.id for other in job.instruments].index(one.id) != number - 1:
            raise JobError(f'{at}.id: "{one.id}" is listed twice; give each instrument a name of its own.')
        if one.least is not None:
            try:
                least_si(one)
            except InputError as error:
                raise JobError(f"{at}.least: {error}") from error
        for name in one.used_for:
            if name not in KIND_OF:
                raise JobError(f'{at}.used_for: "{name}" is no reading; use one of {", ".join(_of(one.kind))}.')
            if one.kind not in ALSO.get(KIND_OF[name], (KIND_OF[name],)):
                raise JobError(
                    f"{at}.used_for: {name} is read with a {KIND_OF[name]}, not with a {one.kind}; mend one of the two."
                )
    named = Counter(name for one in job.instruments for name in one.used_for)
    for name, count in named.items():
        if count > 1:
            raise JobError(f"{where}, instruments: {name} is claimed by {count} instruments; leave it with one.")


def _of(kind: str) -> list[str]:
    return [name for name, needed in KIND_OF.items() if kind in ALSO.get(needed, (needed,))]


def stale_checks(job: Job, reading: Readings) -> list[tuple[Instrument, int | None]]:
    """Listed instruments whose last check is not known (None) or older, in days, than their class allows on the reading's day."""
    from datetime import date

    if reading.time is None:
        return []
    day = date.fromisoformat(reading.time[:10])
    stale: list[tuple[Instrument, int | None]] = []
    for one in job.instruments:
        age = None if one.last_checked is None else (day - date.fromisoformat(one.last_checked)).days
        if age is None or not 0 <= age <= CLASSES[one.kind].days:
            stale.append((one, age))
    return stale
