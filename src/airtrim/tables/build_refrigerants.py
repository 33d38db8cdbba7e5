"""`python -m airtrim.tables.build_refrigerants`: compute `refrigerants.npz` from CoolProp's equations of state [coolprop].

Run once a release, or when CoolProp or a range changes; everything else reads the file. No date, path or machine enters it. Values
are kept as float32, whose rounding is 1e-5 K and 0.03 J/kg. Pure fluids and the pseudo-pure R-410A and R-407C are CoolProp's own;
R-454B is its fitted mixture of R-32 and R-1234yf. The pseudo-pure fluids have no states between bubble and dew: R-407C takes
the shape there from the mixture, R-410A (glide 0.1 K) a straight line.
"""

import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from airtrim.physics.refrigerant.table import SUBCOOLING_REACH_K, SUPERHEAT_REACH_K, RefrigerantTable
from airtrim.tables.refrigerants import PATH, digest

#: Trade name -> CoolProp's name, and the mixture that knows what lies between bubble and dew.
FLUIDS: dict[str, tuple[str, str | None]] = {
    "R-22": ("R22", None),
    "R-32": ("R32", None),
    "R-134a": ("R134a", None),
    "R-407C": ("R407C", "R407C.mix"),
    "R-410A": ("R410A", None),
    "R-454B": ("R454B.mix", "R454B.mix"),
}
#: Bubble and dew are vouched for from -40 to 65.6 degC (-40 to 150 F); the axes reach a little further.
COLDEST_DEW_C, WARMEST_BUBBLE_C = -40.5, 66.0
STEP_K = 2.0
#: States between bubble and dew are those of an evaporator; CoolProp's mixtures do not solve them all when warmer.
WARMEST_EVAPORATOR_C = 30.0
#: Whole degrees a mixture is walked along for first guesses.
WALK_C = (-52, 74)
KELVIN = 273.15
SUPERHEAT_POWERS, SUBCOOLING_POWERS, QUALITY_POWERS = 10, 9, 7

Array = NDArray[np.float64]


class Fluid:
    """CoolProp's states of one fluid, temperatures in degC, enthalpy from 200 kJ/kg at the bubble point at 0 degC."""

    def __init__(self, name: str) -> None:
        import CoolProp
        from CoolProp import AbstractState

        self._codes = CoolProp
        self._saturated = AbstractState("HEOS", name)
        self._vapour = AbstractState("HEOS", name)
        self._vapour.specify_phase(CoolProp.iphase_gas)
        self._liquid = AbstractState("HEOS", name)
        self._liquid.specify_phase(CoolProp.iphase_liquid)
        self._boiling = AbstractState("HEOS", name)
        self._guesses = {quality: self._walk(quality) for quality in (0.0, 1.0)} if name.endswith(".mix") else {}
        self._shift = 0.0
        self._shift = 200e3 - self.saturated(0.0, 0.0)[1]

    def _walk(self, quality: float) -> dict[int, Any]:
        """Guesses at whole degrees of a mixture, each found from the one before: from none, CoolProp misses some above
        55 degC."""
        state, found = self._saturated, {}
        state.update(self._codes.QT_INPUTS, quality, WALK_C[0] + KELVIN)
        for degree in range(*WALK_C):
            guess = self._codes.CoolProp.PyGuessesStructure()
            guess.T, guess.p = degree + KELVIN, state.p()
            guess.rhomolar_liq = state.saturated_liquid_keyed_output(self._codes.iDmolar)
            guess.rhomolar_vap = state.saturated_vapor_keyed_output(self._codes.iDmolar)
            guess.x, guess.y = state.mole_fractions_liquid(), state.mole_fractions_vapor()
            state.update_with_guesses(self._codes.QT_INPUTS, quality, degree + KELVIN, guess)
            found[degree] = guess
        return found

    def saturated(self, temperature_c: float, quality: float) -> tuple[float, float, float]:
        """(pressure Pa, enthalpy J/kg, density kg/m3) at a temperature and quality 0 or 1."""
        state, kelvin = self._saturated, temperature_c + KELVIN
        if self._guesses:
            state.update_with_guesses(
                self._codes.QT_INPUTS, quality, kelvin, self._guesses[quality][round(temperature_c)]
            )
        else:
            state.update(self._codes.QT_INPUTS, quality, kelvin)
        return state.p(), state.hmass() + self._shift, state.rhomass()

    def vapour(self, temperature_c: float, pressure_pa: float) -> tuple[float, float]:
        """(enthalpy, density) of superheated vapour."""
        self._vapour.update(self._codes.PT_INPUTS, pressure_pa, temperature_c + KELVIN)
        return self._vapour.hmass() + self._shift, self._vapour.rhomass()

    def liquid(self, temperature_c: float, pressure_pa: float) -> float:
        """Enthalpy of subcooled liquid."""
        self._liquid.update(self._codes.PT_INPUTS, pressure_pa, temperature_c + KELVIN)
        return float(self._liquid.hmass()) + self._shift

    def boiling(self, pressure_pa: float, quality: float) -> tuple[float, float]:
        """(temperature degC, enthalpy J/kg) part way between bubble and dew, where CoolProp solves at given pressure only."""
        self._boiling.update(self._codes.PQ_INPUTS, pressure_pa, quality)
        return self._boiling.T() - KELVIN, self._boiling.hmass() + self._shift

    def temperature_c(self, pressure_pa: float, quality: float, low_c: float, high_c: float) -> float:
        """Temperature at a pressure and quality 0 or 1, between two that bracket it; asks only for states at given
        temperature, which CoolProp solves where it does not solve those at given pressure."""
        from scipy.optimize import brentq

        def excess(temperature: float) -> float:
            return float(np.log(self.saturated(temperature, quality)[0] / pressure_pa))

        return float(brentq(excess, low_c, high_c, xtol=1e-10, rtol=1e-14))


def build(name: str) -> dict[str, Array]:
    """The fields of `RefrigerantTable` for one refrigerant."""
    own, between = FLUIDS[name]
    fluid = Fluid(own)
    low_pa, high_pa = fluid.saturated(COLDEST_DEW_C, 1.0)[0], fluid.saturated(WARMEST_BUBBLE_C, 0.0)[0]
    low_c = fluid.temperature_c(low_pa, 0.0, COLDEST_DEW_C - 10.0, COLDEST_DEW_C + 0.1) - 0.01
    high_c = fluid.temperature_c(high_pa, 1.0, WARMEST_BUBBLE_C - 0.1, WARMEST_BUBBLE_C + 4.0) + 0.01
    temperatures = np.linspace(low_c, high_c, 2 * round((high_c - low_c) / STEP_K) + 1)
    log_pressures = np.linspace(np.log(low_pa), np.log(high_pa), temperatures.size)
    step_k, log_step = 2.0 * (temperatures[1] - temperatures[0]), 2.0 * (log_pressures[1] - log_pressures[0])

    bubble = np.array([fluid.saturated(t, 0.0) for t in temperatures])
    dew = np.array([fluid.saturated(t, 1.0) for t in temperatures])
    columns = (
        np.log(bubble[:, 0]),
        np.log(dew[:, 0]),
        bubble[:, 1],
        dew[:, 1],
        np.log(bubble[:, 2]),
        np.log(dew[:, 2]),
    )
    inverse = [
        [fluid.temperature_c(float(np.exp(x)), q, low_c - 0.1, high_c + 0.1) for q in (0.0, 1.0)] for x in log_pressures
    ]

    def warmer(index: int, superheat_k: float) -> tuple[float, float]:
        enthalpy, density = fluid.vapour(temperatures[index] + superheat_k, dew[index, 0])
        return enthalpy - dew[index, 1], float(np.log(density / dew[index, 2]))

    def colder(index: int, subcooling_k: float) -> tuple[float]:
        return (fluid.liquid(temperatures[index] - subcooling_k, bubble[index, 0]) - bubble[index, 1],)

    first = int(np.ceil(SUBCOOLING_REACH_K / step_k))
    superheated = sheets(range(temperatures.size), warmer, SUPERHEAT_REACH_K, SUPERHEAT_POWERS)
    subcooled = sheets(range(2 * first, temperatures.size), colder, SUBCOOLING_REACH_K, SUBCOOLING_POWERS)
    shares = shares_between(between, temperatures)
    return {
        "temperature_low_c": np.array(low_c),
        "temperature_step_k": np.array(step_k),
        "log_pressure_low": np.array(np.log(low_pa)),
        "log_pressure_step": np.array(log_step),
        "by_temperature": with_slopes(np.stack(columns, axis=1)),
        "by_log_pressure": with_slopes(np.array(inverse)),
        "superheated_enthalpy": with_slopes(superheated[0]),
        "superheated_density": with_slopes(superheated[1]),
        "subcooled_enthalpy": with_slopes(subcooled[0]),
        "subcooled_first": np.array(float(first)),
        "glide_share": with_slopes(shares[0]),
        "enthalpy_share": with_slopes(shares[1]),
    }


def with_slopes(values: Array) -> Array:
    """(nodes, 2, ...) from values at nodes and midway: the value and the spline's slope times the step, at nodes only."""
    from scipy.interpolate import CubicSpline

    places = np.arange(values.shape[0]) * 0.5
    slopes = CubicSpline(places, values)(places, 1)
    return np.stack([values[::2], slopes[::2]], axis=1)


def sheets(indices: range, states: Callable[[int, float], tuple[float, ...]], reach: float, powers: int) -> list[Array]:
    """Polynomials in u = offset / reach, exact at both ends, of each of the things `states` gives; zero at u = 0."""
    nodes = 0.5 - 0.5 * np.cos(np.pi * np.arange(powers) / (powers - 1))
    inverse = np.linalg.inv(np.vander(nodes[1:], powers, increasing=True)[:, 1:])
    found = np.array([[states(index, reach * u) for u in nodes[1:]] for index in indices])
    coefficients = np.einsum("pu,nuk->knp", inverse, found)
    return [np.concatenate([np.zeros((len(indices), 1)), one], axis=1) for one in coefficients]


def shares_between(mixture: str | None, temperatures: Array) -> list[Array]:
    """Share of glide and of latent heat at the pressure of each bubble temperature up to `WARMEST_EVAPORATOR_C`, over quality:
    0 at 0 and 1 at 1."""
    count = 2 * int((temperatures.searchsorted(WARMEST_EVAPORATOR_C) + 1) // 2) + 1
    if mixture is None:
        straight = np.zeros((count, QUALITY_POWERS))
        straight[:, 1] = 1.0
        return [straight, straight.copy()]
    fluid = Fluid(mixture)

    def shares(index: int, quality: float) -> tuple[float, float]:
        bubble_c = temperatures[index]
        pressure, liquid, _ = fluid.saturated(bubble_c, 0.0)
        dew_c = fluid.temperature_c(pressure, 1.0, bubble_c, bubble_c + 9.0)
        vapour = fluid.saturated(dew_c, 1.0)[1]
        at_c, enthalpy = (dew_c, vapour) if quality == 1.0 else fluid.boiling(pressure, quality)
        return (at_c - bubble_c) / (dew_c - bubble_c), (enthalpy - liquid) / (vapour - liquid)

    return sheets(range(count), shares, 1.0, QUALITY_POWERS)


def main(path: Path = PATH) -> int:
    """Compute all refrigerants and write the file; prints the size and the digest."""
    import CoolProp

    arrays: dict[str, Any] = {}
    for name in FLUIDS:
        table = build(name)
        assert tuple(table) == RefrigerantTable._fields
        for field, values in table.items():
            arrays[f"{name}/{field}"] = values.astype(np.float64 if values.ndim == 0 else np.float32)
    origin = {"origin": f"CoolProp {CoolProp.__version__}", "fluids": {name: FLUIDS[name][0] for name in FLUIDS}}
    arrays["origin"] = np.array(json.dumps(origin, sort_keys=True))
    arrays["digest"] = np.array(digest(arrays))
    np.savez_compressed(path, **arrays)
    print(f"{path.name}: {path.stat().st_size} bytes, {arrays['digest']}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
