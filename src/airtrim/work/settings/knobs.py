"""What the chosen hardware can be set to: its card's ranges and steps, and the airflow program of each combination."""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np

from airtrim.core.errors import NoSolutionError
from airtrim.job.cards import Card, Range
from airtrim.physics.blower.system import operating_point
from airtrim.work.findings import Findings
from airtrim.work.options.air_side import constant_airflow_feedback, constant_airflow_motor, constant_torque_motor
from airtrim.work.options.candidates import (
    DEFAULT_TAPS,
    Candidate,
    card_of,
    drive,
    lower_tap,
)

Choice = tuple[int, ...]
#: Kinds of card a search knows, by the option that takes them.
CARDS: Final = {
    "drive_coil_feedback": "speed_control_by_frequency",
    "constant_airflow_feedback": "constant_airflow_motor",
    "constant_airflow_motor": "constant_airflow_motor",
    "constant_torque_motor": "constant_torque_motor",
}
LINE_HERTZ = 60.0
#: Least airflow that is looked at, part of the present; coil sensor drops that make sense, K (14 to 32 F) [common-practice].
LEAST_PART, DROPS_K = 0.4, (7.8, 17.8)
#: A setting of fewer steps than this is searched whole; one of more is thinned to about so many.
MOST_STEPS = 48
OFF_DELAYS_S: Final = (0.0, 15.0, 30.0, 60.0)
LONG_CALLS_S: Final = (0.0, 1800.0, 3600.0, 7200.0)


@dataclass(frozen=True)
class Knob:
    """One thing to set: its name on the sheet and every value it can be put to, rising, in SI."""

    id: str
    values: tuple[float, ...]
    unit: str

    def nearest(self, value: float) -> int:
        """Place of the value nearest to one."""
        return int(np.argmin(np.abs(np.array(self.values) - value)))


@dataclass(frozen=True)
class Space:
    """Every combination of the knobs of one option. `candidate(choice)` is the option so set; it is made once."""

    option: str
    knobs: tuple[Knob, ...]
    make: Callable[[tuple[float, ...]], Candidate]
    _made: dict[Choice, Candidate] = field(default_factory=dict)

    def values(self, choice: Choice) -> tuple[float, ...]:
        """The settings of a choice, one a knob."""
        return tuple(knob.values[place] for knob, place in zip(self.knobs, choice, strict=True))

    def candidate(self, choice: Choice) -> Candidate:
        """The option under a choice; without a program where motor or card cannot do it."""
        if choice not in self._made:
            self._made[choice] = self.make(self.values(choice))
        return self._made[choice]

    def at(self, name: str) -> int | None:
        """Place of a knob in a choice; None where the hardware has it not."""
        return next((place for place, knob in enumerate(self.knobs) if knob.id == name), None)


def space_of(found: Findings, now: Candidate, option: str) -> Space | None:
    """The settings of an option; None for one that has none to search."""
    builders = {
        "drive_coil_feedback": _drive_space,
        "constant_airflow_feedback": _airflow_feedback_space,
        "constant_airflow_motor": _airflow_space,
        "constant_torque_motor": _torque_space,
        "lower_tap": _tap_space,
        "second_lower_tap": _tap_space,
    }
    return builders[option](found, now) if option in builders else None


def steps_of(given: Range | None, low: float, high: float, step: float) -> tuple[float, ...]:
    """Values of a card's range within low and high, in its own steps (`step` where it has none), thinned to MOST_STEPS.

    Thinning keeps both ends and lands on the card's own steps. Without a range: from low to high by `step`.
    """
    if given is None:
        count = max(round((high - low) / step), 0)
        return tuple(float(low + step * place) for place in range(count + 1))
    stride = given.step.si if given.step is not None and given.step.si > 0.0 else step
    last = int((given.high.si - given.low.si) / stride + 1e-9)
    values = [given.low.si + stride * place for place in range(last + 1)]
    if given.step is None and values[-1] < given.high.si - 1e-9:
        values.append(given.high.si)
    kept = [value for value in values if low - 1e-9 <= value <= high + 1e-9]
    if len(kept) > MOST_STEPS:
        places = sorted({round(place) for place in np.linspace(0, len(kept) - 1, MOST_STEPS)})
        kept = [kept[place] for place in places]
    return tuple(float(value) for value in kept)


def off_delays(found: Findings, option: str) -> tuple[float, ...]:
    """Off-delays to choose from, s: those of the card, else the thermostat's usual ones."""
    given = card_of(found.job, CARDS[option]).settings.off_delay if option in CARDS else None
    allowed = tuple(value for value in OFF_DELAYS_S if given is None or given.allows(value))
    return allowed or ((given.low.si,) if given is not None else OFF_DELAYS_S)


def _common(card: Card) -> list[Knob]:
    """Long-call airflow where the card has it. The off-delay is too short for the screening's step and is chosen after it."""
    if card.settings.long_call is None:
        return []
    calls = [value for value in LONG_CALLS_S if value == 0.0 or card.settings.long_call.allows(value)]
    return [Knob("long_call", tuple(calls), "s")]


def _with(candidate: Candidate, knobs: tuple[Knob, ...], values: tuple[float, ...]) -> Candidate:
    """The candidate with its long-call airflow set."""
    if candidate.program is None:
        return candidate
    called = next((value for knob, value in zip(knobs, values, strict=True) if knob.id == "long_call"), None)
    return candidate if called is None else replace(candidate, program=replace(candidate.program, long_call_s=called))


def _drive_space(found: Findings, now: Candidate) -> Space | None:
    card = card_of(found.job, CARDS["drive_coil_feedback"])
    if found.lowest is None or not card.holds_the_coil or card.settings.frequency is None:
        return None
    hertz = steps_of(card.settings.frequency, found.lowest.hertz, LINE_HERTZ, 0.5)
    hertz = tuple(value for value in hertz if _part_at(found, value) >= LEAST_PART)
    drops = steps_of(card.settings.coil_sensor_drop, *DROPS_K, 5.0 / 9.0)
    if not hertz or not drops:
        return None
    knobs = (Knob("least_hertz", hertz, "Hz"), Knob("coil_sensor_drop", drops, "K"), *_common(card))

    def make(values: tuple[float, ...]) -> Candidate:
        return _with(drive(found, now, _part_at(found, values[0]), values[1]), knobs, values)

    return Space("drive_coil_feedback", knobs, make)


def _part_at(found: Findings, hertz: float) -> float:
    """Airflow at a frequency, part of the present; 0 where the motor does not turn there."""
    try:
        moved = operating_point(found.blower, hertz=hertz).airflow_m3_s
    except NoSolutionError:
        return 0.0
    return min(moved / found.blower.wheel.airflow, 1.0)


def _airflow_feedback_space(found: Findings, now: Candidate) -> Space | None:
    card = card_of(found.job, "constant_airflow_motor")
    if not card.holds_the_coil or card.settings.airflow is None:
        return None
    full = found.airflow.m3_s
    flows = steps_of(card.settings.airflow, LEAST_PART * full, full, 0.005)
    drops = steps_of(card.settings.coil_sensor_drop, *DROPS_K, 5.0 / 9.0)
    if not flows or not drops:
        return None
    knobs = (Knob("least_airflow", flows, "m3/s"), Knob("coil_sensor_drop", drops, "K"), *_common(card))

    def make(values: tuple[float, ...]) -> Candidate:
        like = drive(found, now, 1.0, values[1])
        if like.program is not None:
            program = replace(like.program, least_flow=values[0] / full, coil_sensor_drop_k=values[1])
            like = replace(like, program=program)
        return _with(constant_airflow_feedback(found, now, like), knobs, values)

    return Space("constant_airflow_feedback", knobs, make)


def _airflow_space(found: Findings, now: Candidate) -> Space | None:
    card = card_of(found.job, "constant_airflow_motor")
    full = found.airflow.m3_s
    flows = steps_of(card.settings.airflow, LEAST_PART * full, 1.2 * full, 0.005)
    if not flows:
        return None
    knobs = (Knob("airflow", flows, "m3/s"), *_common(card))

    def make(values: tuple[float, ...]) -> Candidate:
        return _with(constant_airflow_motor(found, now, values[0] / full), knobs, values)

    return Space("constant_airflow_motor", knobs, make)


def _torque_space(found: Findings, now: Candidate) -> Space | None:
    card = card_of(found.job, "constant_torque_motor")
    parts = tuple(np.arange(LEAST_PART, 1.2001, 0.05).round(2).tolist())
    knobs = (Knob("airflow_part", parts, "fraction"), *_common(card))

    def make(values: tuple[float, ...]) -> Candidate:
        return _with(constant_torque_motor(found, now, values[0]), knobs, values)

    return Space("constant_torque_motor", knobs, make)


def _tap_space(found: Findings, now: Candidate) -> Space | None:
    """The present tap's place is 0 steps slower: the fan switch on AUTO alone."""
    taps = found.job.blower.taps or max(DEFAULT_TAPS, found.blower.tap_in_use)
    steps = tuple(float(step) for step in range(1, taps - found.blower.tap_in_use + 1))
    if not steps:
        return None
    knobs = (Knob("tap", tuple(found.blower.tap_in_use + step for step in steps), "tap"),)

    def make(values: tuple[float, ...]) -> Candidate:
        return _with(lower_tap(found, now, int(values[0]) - found.blower.tap_in_use), knobs, values)

    return Space("lower_tap", knobs, make)
