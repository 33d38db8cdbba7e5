"""What the model says each reading should be, for many systems at once."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from airtrim.core.kernels import kernel
from airtrim.job.model import Job
from airtrim.physics.unit.closure import closure
from airtrim.physics.unit.fields import COMPRESSOR, METERING, REFRIGERANT, unit_rows
from airtrim.physics.unit.properties import glide_k
from airtrim.physics.unit.steady import full_state
from airtrim.work.findings.observed import Observed
from airtrim.work.findings.parameters import CFM_PER_TON, NINETY, PARTS, UNIT_NAMES, Parameter
from airtrim.work.readings.pressures import ALLOWED_PA, EXPONENTS

Array = NDArray[np.float64]
LATENT_HEAT = 2.466e6
CP_AIR, CP_VAPOUR = 1006.0, 1860.0
RATED_STATIC_PA = 124.5


@dataclass(frozen=True)
class Answer:
    """How a kind of blower answers its path, x = static / rated - 1.

    The logarithm of its airflow falls by `first` x, and by `second` times the square of x beyond `begins` (where a motor that holds
    the airflow comes to its limit). Watts go with the airflow that the path lets through to the power `unloads`, and by `by_static`
    of x up to `begins`.
    """

    first: float
    second: float
    begins: float
    unloads: float
    by_static: float


#: A PSC by the shape of makers' tables, about 13 % less at 0.8 and 24 % at 1.0 in w.c. [judgement]; its watts with a forward-curved
#: wheel [own-derivation: the motors of physics/blower give 0.85 to 0.95 on generic wheels; 0.7 to 0.9 by makers' tables].
PSC_ANSWER = Answer(0.16, 0.12, 0.0, 0.85, 0.0)
#: Electronic motors: airflow by makers' rows (fast taps of a five-tap cabinet lose 7 to 9 % from 0.5 to 0.8 in w.c.; constant
#: airflow is held to 0.8) [fan-tables]; watts of constant torque rise as the wheel speeds up [own-derivation: physics/blower gives
#: -1.1 to -1.5], of constant airflow as static does [own-derivation 0.3, a maker's table 0.47].
ANSWERS = {
    "constant_torque": Answer(0.11, 0.02, 0.0, -1.25, 0.0),
    "constant_airflow": Answer(0.005, 0.15, 0.6, 0.0, 0.40),
}
_WET_ALLOWED = {part: ALLOWED_PA["coil_wet" if part == "coil" else part] for part in PARTS}
EXPONENTS_OF_PARTS = np.array([EXPONENTS[part] for part in PARTS])
#: Places in what `unit_states` gives.
TOTAL, SENSIBLE, SUCTION, SUPERHEAT, CONDENSING, SUBCOOLING = range(6)


@kernel
def unit_states(rows: Array, flow_kg_s: Array, air: Array, pressure_pa: float) -> Array:
    """Total and sensible W, suction degC, superheat K, condensing (bubble) degC, subcooling K; `[N, P, 6]`.

    `flow_kg_s` is `[N, P]`, `air` is `[N, P, 3]`: return degC, humidity ratio, outdoor degC.
    """
    count, points = flow_kg_s.shape
    found = np.empty((count, points, 6))
    for n in range(count):
        row = rows[n]
        closed = closure(row)
        code = int(row[REFRIGERANT])
        for p in range(points):
            state, _, _ = full_state(
                air[n, p, 0], air[n, p, 1], air[n, p, 2], flow_kg_s[n, p], pressure_pa, row, closed
            )
            found[n, p, 0], found[n, p, 1], found[n, p, 2] = state[0], state[1], state[3]
            found[n, p, 3] = max(state[5], 0.0) if state[5] == state[5] else state[5]
            found[n, p, 4] = state[6] - glide_k(code, state[6])
            found[n, p, 5] = state[7]
    return found


@kernel
def met_log_flow(
    strength: Array,
    pressures_pa: Array,
    exponents: Array,
    nominal: float,
    inside_pa: float,
    steepness: Array,
    first: float,
    second: float,
    begins: float,
) -> Array:
    """Logarithm of the airflow at which blower and path meet, `[N]`; bisection, the one falls and the other rises.

    `strength` is the logarithm of the airflow at rated static, `pressures_pa` `[N, parts]` the drops at the logarithm `nominal`;
    `first`, `second` and `begins` as in `Answer`, which each blower falls `steepness` times as.
    """
    found = np.empty(strength.shape[0])
    for n in range(strength.shape[0]):
        low, high = strength[n] - 2.5, strength[n] + 0.5
        for _ in range(30):
            middle = 0.5 * (low + high)
            static = -inside_pa
            for part in range(exponents.shape[0]):
                static += pressures_pa[n, part] * np.exp(exponents[part] * (middle - nominal))
            x = static / RATED_STATIC_PA - 1.0
            more = max(x - begins, 0.0)
            if strength[n] - steepness[n] * (first * x + second * more * more) > middle:
                low = middle
            else:
                high = middle
        found[n] = 0.5 * (low + high)
    return found


@dataclass(frozen=True)
class Model:
    """The job's machine as a function of parameters, and the readings it answers for; `device` is the metering device."""

    job: Job
    seen: Observed
    device: float
    refrigerant: float
    compressor: float
    coil_scale: float

    def rows(self, values: dict[str, Array]) -> Array:
        """Units, `[N, len(UNIT_FIELDS)]`."""
        columns: dict[str, object] = {name: values[name] for name in UNIT_NAMES}
        count = len(values["charge"])
        columns |= {"metering_device": np.full(count, self.device), "coil_scale": self.coil_scale}
        rows = unit_rows(**columns)
        rows[:, METERING], rows[:, REFRIGERANT], rows[:, COMPRESSOR] = self.device, self.refrigerant, self.compressor
        return rows

    def airflow_m3_s(self, values: dict[str, Array]) -> tuple[Array, dict[str, Array]]:
        """Airflow of the tap in use where blower and path meet, and the drop of each part, Pa."""
        nominal = float(np.log(400.0 * CFM_PER_TON * self.job.system.outdoor_size.si))
        allowed = np.array([_WET_ALLOWED[part] for part in PARTS])
        pressures = np.stack([values[f"{part}_resistance"] for part in PARTS], axis=1) * allowed
        strength = np.log(values["blower"]) + values["blower_fault"]
        answer = self.answer
        flow = met_log_flow(
            strength,
            pressures,
            EXPONENTS_OF_PARTS,
            nominal,
            self._inside_pa,
            values["steepness"],
            answer.first,
            answer.second,
            answer.begins,
        )
        drops = {
            part: pressures[:, place] * np.exp(EXPONENTS_OF_PARTS[place] * (flow - nominal))
            for place, part in enumerate(PARTS)
        }
        return np.exp(flow), drops

    @property
    def answer(self) -> Answer:
        """How this kind of motor answers its path; a motor of one winding as a PSC."""
        return ANSWERS.get(self.job.blower.motor, PSC_ANSWER)

    @property
    def _inside_pa(self) -> float:
        """A coil inside the cabinet is not in the static a blower is rated at."""
        return _WET_ALLOWED["coil"] if coil_before_blower_of(self.job) else 0.0

    def blower_watts(self, values: dict[str, Array]) -> Array:
        """Watts: by the sound blower's airflow at rated static, as the path holds air back, and as the fault has it."""
        flow, drops = self.airflow_m3_s(values)
        answer = self.answer
        held_back = flow / (values["blower"] * np.exp(values["blower_fault"]))
        sound = values["watts_per_airflow"] * values["blower"] * held_back**answer.unloads
        static = sum(drops.values(), start=np.zeros_like(flow)) - self._inside_pa
        above = np.minimum(static / RATED_STATIC_PA - 1.0, answer.begins)
        # constant power from its limit on; other kinds' watts are all in the airflow
        sound = sound * (1.0 + answer.by_static * above)
        return np.asarray(sound * np.exp(values["fault_watts"] * values["blower_fault"]))

    def _table_m3_s(self, values: dict[str, Array], flow: Array, drops: dict[str, Array]) -> Array:
        """What the maker's table says at the static read: of a sound blower, over a clean coil where that is in the cabinet."""
        answer = self.answer
        sound = values["off_table"] * values["blower_fault"]  # logarithm of what the blower lacks against its table
        if not coil_before_blower_of(self.job):
            return np.asarray(flow * np.exp(-sound))
        static = sum(drops.values(), start=np.zeros_like(flow)) - self._inside_pa
        nominal = 400.0 * CFM_PER_TON * self.job.system.outdoor_size.si
        clean = _WET_ALLOWED["coil"] * (flow / nominal) ** EXPONENTS["coil"]

        def fallen(static_pa: Array) -> Array:
            x = static_pa / RATED_STATIC_PA - 1.0
            return np.asarray(answer.first * x + answer.second * np.square(np.maximum(x - answer.begins, 0.0)))

        # the coil's dirt is not in the static that is read
        hidden = fallen(static) - fallen(static - drops["coil"] + clean)
        return np.asarray(flow * np.exp(values["steepness"] * hidden - sound))

    def flows_kg_s(self, values: dict[str, Array], flow_m3_s: Array) -> Array:
        """Dry air at each point, `[N, P]`."""
        return np.stack(
            [
                flow_m3_s * np.exp(np.log(values["tap_ratio"]) * air.tap_steps) / air.volume_m3_kg
                for air in self.seen.air
            ],
            axis=1,
        ) if self.seen.air else np.empty((len(flow_m3_s), 0))  # fmt: skip

    @cached_property
    def air_errors(self) -> "AirErrors":
        """How far the air the unit was read at may lie from what was read."""
        return air_errors(self.seen)

    def air(self, values: dict[str, Array]) -> Array:
        """The air at each point as it was, `[N, P, 3]`."""
        errors = self.air_errors
        z = (
            np.stack([values[name] for name in errors.names], axis=1)
            if errors.names
            else np.empty((len(values["charge"]), 0))
        )
        return np.asarray(errors.read - (z @ errors.moves.T).reshape(len(z), *errors.read.shape))

    def predicted(self, values: dict[str, Array], air: Array, kinds: list[tuple[str, int]]) -> Array:
        """Each kind at its point in the terms of `Observation.value`, `[N, len(kinds)]`; NaN where the unit has no state.

        `air` is `[N, P, 3]`, or `[P, 3]` for one air for all.
        """
        flow, drops = self.airflow_m3_s(values)
        flows = self.flows_kg_s(values, flow)
        air = np.ascontiguousarray(np.broadcast_to(air, (len(flow), *air.shape[-2:])))
        states = unit_states(self.rows(values), flows, air, self.seen.pressure_pa)
        found = np.empty((len(flow), len(kinds)))
        volume = self.seen.air[0].volume_m3_kg if self.seen.air else 0.86
        for column, (kind, point) in enumerate(kinds):
            found[:, column] = self._one(kind, point, values, flow, drops, flows, states, air, volume)
        return found

    def _one(
        self,
        kind: str,
        point: int,
        values: dict[str, Array],
        flow: Array,
        drops: dict[str, Array],
        flows: Array,
        states: Array,
        air: Array,
        volume: float,
    ) -> Array:
        if kind in _STATES:
            return np.asarray(states[:, point, _STATES[kind]])
        if kind == "airflow":
            return np.asarray(np.log(flow / volume) + np.log(values["tap_ratio"]) * point)
        if kind == "fan_table":
            return np.asarray(np.log(self._table_m3_s(values, flow, drops) / volume))
        if kind.endswith("_drop"):
            return np.asarray(np.log(drops[kind.removesuffix("_drop")]))
        if kind == "external_static":
            outside = [part for part in PARTS if part != "coil" or not coil_before_blower_of(self.job)]
            return np.asarray(np.log(sum((drops[part] for part in outside), start=np.zeros_like(flow))))
        if kind == "duct_gain":
            # the leak's air is attic air: return = (1 - leak) grille + leak attic, so gain = leak (attic - grille)
            attic = air[:, 0, 2] + values["attic_gain"]
            grille = (air[:, 0, 0] - values["return_leak"] * attic) / (1.0 - values["return_leak"])
            return np.asarray(air[:, 0, 0] - grille + values["return_gain"])
        if kind == "capacitor":
            return np.asarray(np.log(values["capacitor"]))
        if kind == "blower_power":
            return np.asarray(np.log(self.blower_watts(values)))
        total, sensible = states[:, point, TOTAL], states[:, point, SENSIBLE]
        if kind == "supply":
            heat = self.blower_watts(values) if self.seen.air[point].heat_in_supply else 0.0
            return np.asarray(
                air[:, point, 0] - (sensible - heat) / (flows[:, point] * (CP_AIR + CP_VAPOUR * air[:, point, 1]))
            )
        water = (total - sensible) / LATENT_HEAT
        if kind == "condensate":
            return np.asarray(np.log(np.maximum(water, 1e-7)))
        assert kind == "supply_humidity", kind
        return np.asarray(np.log(np.maximum(air[:, point, 1] - water / flows[:, point], 1e-5)))


_STATES = {"suction": SUCTION, "superheat": SUPERHEAT, "condensing": CONDENSING, "subcooling": SUBCOOLING}


def coil_before_blower_of(job: Job) -> bool:
    """An air handler has its coil inside the cabinet, a furnace outside."""
    return job.heat.kind != "furnace"


def air_array(seen: Observed) -> Array:
    """The air of every point as it was read, `[P, 3]`."""
    return np.array([[one.return_c.value, one.humidity_ratio.value, one.outdoor_c.value] for one in seen.air]).reshape(
        -1, 3
    )


@dataclass(frozen=True)
class AirErrors:
    """Independent unit-normal errors of the air the unit was read at.

    `read` is the air as it was read `[P, 3]`, `moves` `[3 P, k]` what each error adds to what was read, `of_sources` `[S, k]` the
    same errors in the instruments and places `sources`, columns orthonormal; `names` the parameters that carry them.
    """

    read: Array
    moves: Array
    sources: tuple[str, ...]
    of_sources: Array
    names: tuple[str, ...]


#: A direction in which the air's readings differ by less than this part of what moves them most is no error of its own.
_SAME_ERROR = 1e-9


def air_errors(seen: Observed) -> AirErrors:
    """As many errors as the air's readings have directions to be wrong in: three a point, fewer where points share them all."""
    given = [value for one in seen.air for value in (one.return_c, one.humidity_ratio, one.outdoor_c)]
    sources = tuple(sorted({name for one in given for name in one.parts}))
    effects = np.array([[one.parts.get(name, 0.0) for name in sources] for one in given]).reshape(
        len(given), len(sources)
    )
    size = np.array([one.sigma if one.sigma > 0.0 else 1.0 for one in given])
    left, strength, right = np.linalg.svd(effects / size[:, None], full_matrices=False)
    kept = strength > _SAME_ERROR * strength.max(initial=0.0)
    return AirErrors(
        air_array(seen),
        size[:, None] * left[:, kept] * strength[kept],
        sources,
        right[kept].T,
        tuple(f"air_error_{k}" for k in range(int(kept.sum()))),
    )


def air_parameters(model: Model) -> list[Parameter]:
    """The air's errors as parameters of the fit, each its own standard normal coordinate."""
    return [Parameter(name, -NINETY, 0.0, NINETY, linear=True) for name in model.air_errors.names]


@dataclass(frozen=True)
class Likelihood:
    """Values read `[m]`, what the air's errors add to them `[m, k]`, inverse Cholesky factor of the covariance of all other errors
    `[m, m]`, and half of its log-determinant with the constant.
    """

    read: Array
    by_air: Array
    inverse: Array
    constant: float

    def residuals(self, predicted: Array, air_error: Array) -> Array:
        """Unit-normal residuals `[N, m]` of what the model says in the air as it was."""
        return np.asarray((self.read - predicted - air_error @ self.by_air.T) @ self.inverse.T)


def likelihood(model: Model, spread: float) -> Likelihood:
    """How readings scatter about a right machine: every source of error by its name, so that two readings with one gauge know it.

    The air's errors are parameters of the fit, since a unit does not answer its air in a straight line (a coil goes dry); a source
    that moved the air and another reading too is in both. The model's own error is added `spread` times over.
    """
    rows, errors = model.seen.rows, model.air_errors
    sources = sorted({name for one in rows for name in one.value.parts} | set(errors.sources))
    effects = np.array([[one.value.parts.get(name, 0.0) for name in sources] for one in rows])
    of_sources = np.zeros((len(sources), len(errors.names)))
    of_sources[[sources.index(name) for name in errors.sources]] = errors.of_sources
    by_air = effects @ of_sources
    rest = effects - by_air @ of_sources.T  # what the sources do in other directions
    own = np.array([one.model_sigma for one in rows]) * spread
    lower = np.linalg.cholesky(rest @ rest.T + np.diag(np.square(own)))
    constant = float(np.sum(np.log(np.diag(lower)))) + 0.5 * len(rows) * float(np.log(2.0 * np.pi))
    return Likelihood(np.array([one.value.value for one in rows]), by_air, np.asarray(np.linalg.inv(lower)), constant)
