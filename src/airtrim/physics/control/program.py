"""The airflow program: what airflow is wanted when, and the thermostat's settings that go with it."""

from dataclasses import dataclass
from typing import Final

from airtrim.core.errors import OutOfRangeError

HOURS: Final = 24
#: What a program's drive holds while cooling: nothing (a fixed flow), a coil sensor drop, or a saturated suction temperature.
HOLDS_NOTHING, HOLDS_DROP, HOLDS_SUCTION = 0.0, 1.0, 2.0
CONTACTS: Final = ("", "open", "closed")


@dataclass(frozen=True)
class AirflowProgram:
    """What airflow is wanted when. Flows are fractions of the system's full flow (present tap, 0.1 to 1.5).

    Cooling. `coil_sensor_drop_k` is return dry-bulb less what a sensor in the fins shows; `saturated_suction_c` a saturated
    suction temperature. With either (not both) the program moves the flow between least and greatest to hold it; without,
    the flow is `cooling_flow`, in low stage `low_stage_flow`, and no more than `drying_flow` while the drive is told to dry (each
    left out is `cooling_flow`). Below `coil_floor_c` of saturation at the coldest inlet it adds air up to the greatest, whatever
    else it does. After `long_call_s` of one cooling call it gives the greatest airflow until that call ends (0: never).
    `second_stage_after_s` or `second_stage_above_k` over the set-point bring a two-stage unit's second stage, until the call ends.

    Other calls. `circulation_flow` runs without any call (0: the fan switch is on AUTO), `heating_flow` in heating. A heat
    pump's strips come when the room is `strips_below_k` under the set-point or the call `strips_after_s` old.

    Thermostat. Set-points for all hours, or 24 of them by hour in `cooling_set_by_hour_c` and `heating_set_by_hour_c` (the first
    for midnight to one, standard time). `humidity_set` (relative humidity, fraction; 0: none) with its deadband makes the humidity
    call: while it lasts the thermostat cools to `overcool_k` below the set-point, and the drive is told over its humidity
    input. `humidistat_opens_on_rise` and `drying_when_open` say what the contact does and what the drive takes for damp: where
    they differ the drive dries when it is dry. `humidity_wire` "open" or "closed" is a wire broken or shorted.
    `hold_only_when_drying` keeps to the fixed flow until the drive is told to dry.

    `dehumidifier_set` (fraction; 0: off) is its humidistat's middle. `sensor_error_k` is added to what the coil sensor shows.
    `stopped`: the drive does not turn, and the compressor is locked out with it.
    """

    cooling_flow: float = 1.0
    least_flow: float = 1.0
    greatest_flow: float = 1.0
    coil_sensor_drop_k: float = 0.0
    coil_floor_c: float = 2.2
    circulation_flow: float = 0.0
    off_delay_s: float = 60.0
    ramp_time_s: float = 15.0
    cooling_set_point_c: float = 24.0
    heating_set_point_c: float = 20.5
    deadband_k: float = 0.6
    least_on_s: float = 180.0
    least_off_s: float = 300.0
    drying_flow: float | None = None
    low_stage_flow: float | None = None
    heating_flow: float = 1.0
    saturated_suction_c: float | None = None
    long_call_s: float = 0.0
    second_stage_after_s: float = 600.0
    second_stage_above_k: float = 1.0
    strips_below_k: float = 1.1
    strips_after_s: float = 3600.0
    cooling_set_by_hour_c: tuple[float, ...] = ()
    heating_set_by_hour_c: tuple[float, ...] = ()
    humidity_set: float = 0.0
    humidity_deadband: float = 0.04
    overcool_k: float = 0.0
    humidistat_opens_on_rise: bool = False
    drying_when_open: bool = False
    humidity_wire: str = ""
    hold_only_when_drying: bool = False
    dehumidifier_set: float = 0.0
    dehumidifier_deadband: float = 0.04
    sensor_error_k: float = 0.0
    stopped: bool = False

    @property
    def cooling_sets_c(self) -> tuple[float, ...]:
        """Cooling set-point of each of the 24 hours."""
        return self.cooling_set_by_hour_c or (self.cooling_set_point_c,) * HOURS

    @property
    def heating_sets_c(self) -> tuple[float, ...]:
        return self.heating_set_by_hour_c or (self.heating_set_point_c,) * HOURS

    @property
    def holding(self) -> float:
        """HOLDS_NOTHING, HOLDS_DROP or HOLDS_SUCTION."""
        if self.saturated_suction_c is not None:
            return HOLDS_SUCTION
        return HOLDS_DROP if self.coil_sensor_drop_k > 0.0 else HOLDS_NOTHING

    @property
    def drying_signal(self) -> tuple[float, float]:
        """What the drive takes for damp is first + second x (1 in a humidity call, 0 without)."""
        if self.humidity_set <= 0.0:
            return 0.0, 0.0
        if self.humidity_wire:
            return float((self.humidity_wire == "open") == self.drying_when_open), 0.0
        return (0.0, 1.0) if self.humidistat_opens_on_rise == self.drying_when_open else (1.0, -1.0)

    def __post_init__(self) -> None:
        self._flows()
        self._set_points()
        if self.coil_sensor_drop_k > 0.0 and self.saturated_suction_c is not None:
            raise OutOfRangeError(
                "The program holds a coil sensor drop and a saturated suction temperature at once: leave one of them out."
            )
        if self.humidity_wire not in CONTACTS:
            raise OutOfRangeError(
                f'humidity_wire must be "", "open" or "closed", got "{self.humidity_wire}": say what the wire does, or nothing.'
            )
        if (self.overcool_k > 0.0 or self.hold_only_when_drying) and self.humidity_set <= 0.0:
            raise OutOfRangeError(
                "Overcooling and holding only when drying need a humidity set-point: set humidity_set, 0.3 to 0.8."
            )
        if self.long_call_s != 0.0 and not 600.0 <= self.long_call_s <= 86400.0:
            raise OutOfRangeError(
                f"long_call_s must be 0 (never) or lie in 600 to 86400 s, got {self.long_call_s:g} s: 3600 is usual."
            )
        for name, low, high in (
            ("coil_sensor_drop_k", 0.0, 30.0),
            ("saturated_suction_c", -5.0, 20.0),
            ("off_delay_s", 0.0, 900.0),
            ("ramp_time_s", 0.0, 1800.0),
            ("deadband_k", 0.1, 5.0),
            ("circulation_flow", 0.0, 1.5),
            ("heating_flow", 0.1, 1.5),
            ("least_on_s", 0.0, 1800.0),
            ("least_off_s", 0.0, 1800.0),
            ("second_stage_after_s", 0.0, 86400.0),
            ("second_stage_above_k", 0.0, 10.0),
            ("strips_below_k", 0.3, 10.0),
            ("strips_after_s", 0.0, 86400.0),
            ("humidity_set", 0.0, 0.9),
            ("humidity_deadband", 0.01, 0.2),
            ("overcool_k", 0.0, 3.0),
            ("dehumidifier_set", 0.0, 0.9),
            ("dehumidifier_deadband", 0.01, 0.2),
            ("sensor_error_k", -30.0, 30.0),
        ):
            value = getattr(self, name)
            if value is not None and not low <= value <= high:
                raise OutOfRangeError(f"{name} must lie in {low:g} to {high:g}, got {value:g}: check the program.")
        for name in ("humidity_set", "dehumidifier_set"):
            if 0.0 < getattr(self, name) < 0.3:
                raise OutOfRangeError(
                    f"{name} must be 0 (none) or at least 0.3, got {getattr(self, name):g}: give relative humidity as a fraction."
                )

    def _flows(self) -> None:
        if not 0.1 <= self.least_flow <= self.greatest_flow <= 1.5:
            raise OutOfRangeError(
                f"least airflow {self.least_flow:.2f} and greatest airflow {self.greatest_flow:.2f} must rise from 0.10 to at most "
                "1.50 of full airflow: set the least below the greatest."
            )
        for name, flow in (
            ("cooling", self.cooling_flow),
            ("drying", self.drying_flow),
            ("low-stage", self.low_stage_flow),
        ):
            if flow is not None and not self.least_flow <= flow <= self.greatest_flow:
                raise OutOfRangeError(
                    f"{name} airflow {flow:.2f} must lie between least {self.least_flow:.2f} and greatest "
                    f"{self.greatest_flow:.2f}: move one of them."
                )

    def _set_points(self) -> None:
        for name in ("cooling_set_by_hour_c", "heating_set_by_hour_c"):
            given = getattr(self, name)
            if len(given) not in (0, HOURS):
                raise OutOfRangeError(
                    f"{name} holds {len(given)} set-points, expected 24, one for each hour from midnight: give all or none."
                )
        for hour, (cooling, heating) in enumerate(zip(self.cooling_sets_c, self.heating_sets_c, strict=True)):
            lowest = cooling - self.overcool_k
            if not heating + self.deadband_k < lowest:
                when = (
                    f" in the hour from {hour}:00" if self.cooling_set_by_hour_c or self.heating_set_by_hour_c else ""
                )
                less = f" less {self.overcool_k:.1f} K of overcooling" if self.overcool_k > 0.0 else ""
                raise OutOfRangeError(
                    f"heating set-point {heating:.1f} C{when} must stay below cooling set-point {cooling:.1f} C{less} by more "
                    f"than the deadband of {self.deadband_k:.1f} K: lower it."
                )
