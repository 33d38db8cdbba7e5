"""One operating point as it was read: each reading with its instrument's uncertainty, and the states of air behind it."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite, sqrt
from typing import Any

from airtrim.job.instruments import accuracy_of
from airtrim.job.measured import Measured
from airtrim.job.model import Job, Readings
from airtrim.physics.air.moist import (
    humidity_ratio_from_relative_humidity,
    humidity_ratio_from_wet_bulb,
    saturation_humidity_ratio,
    specific_volume_m3_kg,
    wet_bulb_c,
)
from airtrim.work.readings.uncertain import Uncertain, carried, mean_of

#: A limit of unstated coverage as one sigma (rectangular) [jcgm100, 4.3.7].
RECTANGULAR = 1.0 / sqrt(3.0)
#: How far one point may be from the mean of the stream there, K, one sigma: mixing and radiation behind a coil or a heater, the
#: clamp on a pipe, a wick's ventilation [judgement].
PLACED_K = {
    "supply_dry_bulb": 0.5,
    "supply_wet_bulb": 0.5,
    "return_dry_bulb": 0.2,
    "return_wet_bulb": 0.3,
    "grille_dry_bulb": 0.2,
    "grille_wet_bulb": 0.3,
    "outdoor_dry_bulb": 0.3,
    "suction_line": 0.3,
    "liquid_line": 0.3,
    "surface": 0.5,
}
#: A static port that meets the stream or a swirl, one sigma as a part of the reading and in Pa [judgement].
PORT_PART, PORT_PA = 0.03, 1.0
#: Air nobody read: return at 24 degC and 55 % RH, wide enough for any house that is cooled; K and parts, one sigma.
UNREAD_RETURN_C, UNREAD_RETURN_K, UNREAD_HUMIDITY, UNREAD_HUMIDITY_PART = 24.0, 1.5, 0.55, 0.08


@dataclass(frozen=True)
class Point:
    """A reading of a job with the air pressure of the place; `number` counts from 1 as in the file.

    `held` says why nothing may be figured from it after a coil in ice ("" where something may; iced.py).
    """

    job: Job
    reading: Readings
    number: int
    pressure_pa: float
    held: str = ""

    @property
    def iced(self) -> str:
        """Why the coil counts as iced at this reading; "" where it does not."""
        return self.held or ("frosted" if self.reading.coil == "frosted" else "")

    @property
    def tap(self) -> int:
        return self.reading.tap or self.job.blower.tap_in_use

    def of(self, name: str) -> Uncertain | None:
        """A reading by its name, uncertain by instrument and place; None where it was not taken."""
        given = getattr(self.reading, name)
        return None if given is None else self.taken(name, given)

    def taken(self, name: str, given: Measured, label: str = "") -> Uncertain:
        """Any measured value as a reading of the kind `name`; `label` tells several of one kind apart."""
        value = given.si
        who = accuracy_of(self.job, name, value)
        parts = {f"instrument.{who.who}": who.limit * RECTANGULAR}
        own = f"place.{self.number}.{name}{label}"
        if name in PLACED_K:
            parts[own] = PLACED_K[name]
        elif name.startswith("static_") or name in ("total_external_static", "closed_doors_static"):
            parts[own] = sqrt((PORT_PART * value) ** 2 + PORT_PA**2)
        return Uncertain(value, parts)

    def supply_dry_bulb(self) -> Uncertain | None:
        """Supply air, the mean of several points where they were read."""
        points: Sequence[Measured] = self.reading.supply_dry_bulbs
        if points:
            return mean_of([self.taken("supply_dry_bulb", one, f".{n}") for n, one in enumerate(points)])
        return self.of("supply_dry_bulb")

    def humidity(self, where: str) -> Uncertain | None:
        """Humidity ratio at "return", "supply" or "grille", from wet-bulb, else from the probe; None where neither was read.

        A wet-bulb above its dry-bulb by less than two thermometers may part is saturated air.
        """
        dry = self.supply_dry_bulb() if where == "supply" else self.of(f"{where}_dry_bulb")
        wet = self.of(f"{where}_wet_bulb")
        relative = self.of(f"{where}_relative_humidity") if where != "grille" else None
        if dry is None:
            return None
        if wet is not None:
            return carried(self._from_wet_bulb, dry=dry, wet=wet)
        if relative is not None:
            return carried(
                lambda dry, relative: humidity_ratio_from_relative_humidity(
                    dry, min(max(relative, 0.0), 1.0), self.pressure_pa
                ),
                dry=dry,
                relative=relative,
            )
        return None

    def wet_bulb(self, where: str) -> Uncertain | None:
        """Wet-bulb at "return", "supply" or "grille": as read, else from dry-bulb and the probe's RH."""
        read = self.of(f"{where}_wet_bulb")
        ratio = self.humidity(where) if read is None else None
        dry = self.supply_dry_bulb() if where == "supply" else self.of(f"{where}_dry_bulb")
        if read is not None or ratio is None or dry is None:
            return read
        return carried(lambda t, w: wet_bulb_c(t, w, self.pressure_pa), t=dry, w=ratio)

    def _from_wet_bulb(self, dry: float, wet: float) -> float:
        if wet >= dry:
            return saturation_humidity_ratio(0.5 * (wet + dry), self.pressure_pa)
        return max(humidity_ratio_from_wet_bulb(dry, wet, self.pressure_pa), 0.0)

    def return_air(self) -> tuple[Uncertain, Uncertain, bool]:
        """Dry-bulb and humidity ratio of the air entering the coil, and whether it was read; else air of any cooled house."""
        dry = self.of("return_dry_bulb") or self.of("grille_dry_bulb")
        ratio = self.humidity("return") or self.humidity("grille")
        read = dry is not None
        if dry is None:
            dry = Uncertain(UNREAD_RETURN_C, {"assumed.return_air": UNREAD_RETURN_K})
        if ratio is None:
            ratio = carried(
                lambda dry, rh: humidity_ratio_from_relative_humidity(dry, rh, self.pressure_pa),
                dry=dry,
                rh=Uncertain(UNREAD_HUMIDITY, {"assumed.return_humidity": UNREAD_HUMIDITY_PART}),
            )
        return dry, ratio, read

    def dry_air_volume(self, dry: Uncertain, ratio: Uncertain) -> Uncertain:
        """m3 of moist air per kg of dry air."""
        return carried(lambda t, w: specific_volume_m3_kg(t, w, self.pressure_pa), t=dry, w=ratio)

    def return_volume(self) -> Uncertain:
        """The same for the air entering the coil."""
        dry, ratio, _ = self.return_air()
        return self.dry_air_volume(dry, ratio)

    def settled_enough(self) -> bool | None:
        """Whether it ran 15 minutes [title24ra3]; None where nobody noted it."""
        running = self.reading.running_for
        return None if running is None else running.si >= 900.0


def finite(*values: Uncertain | None) -> bool:
    """All are there and numbers."""
    return all(one is not None and isfinite(one.value) and isfinite(one.sigma) for one in values)


def message(identity: str, **values: Any) -> dict[str, Any]:
    """A message of the readings: catalogue id and values; a value with a unit is {value, unit}, SI."""
    return {"id": f"reading.{identity}", "values": values}


def amount(value: float, unit: str) -> dict[str, Any]:
    """A value in SI that the page shows in the reader's unit."""
    return {"value": value, "unit": unit}
