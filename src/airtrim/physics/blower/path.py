"""What the air must pass: ducts, filter (clean to loaded) and coil (dry, wet, frosted), each with its own exponent.

    static = ducts Q^1.9 + filter load Q^1.4 + coil water Q^1.65

fitted from static pressures read at one or more speeds. Exponents and wet factor: [from-memory], the coil's from a maker's
dry-coil table (tests/published).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, log
from typing import NamedTuple

import numpy as np

from airtrim.core.errors import InputError, OutOfRangeError
from airtrim.core.kernels import inline_kernel

#: Exponents of pressure against airflow: ducts 1.8 to 2.0, clean filter 1.2 to 1.6, coil 1.4 to 1.9; one sigma a third of that.
DUCT_EXPONENT, FILTER_EXPONENT, COIL_EXPONENT = 1.9, 1.4, 1.65
EXPONENT_SIGMA = (0.05, 0.10, 0.12)
WET_COIL = 1.3  # wet against dry coil, 1.2 to 1.5
WET_COIL_RANGE = (1.2, 1.5)
#: A loaded filter against the same one clean [from-memory].
LOADED_FILTER = 2.0
#: Face velocity of a wet coil above which water is carried off: 550 fpm up to 10 fins an inch, 500 above (a coil maker's rule).
CARRY_OVER_M_S = 550.0 * 0.00508
CARRY_OVER_DENSE_M_S = 500.0 * 0.00508
DENSE_FINS_PER_INCH = 10.0
#: A pressure read with a field manometer and probe, one sigma, as a part of it and in Pa [from-memory].
PRESSURE_SIGMA, PRESSURE_SIGMA_PA = 0.05, 1.5
#: How far a fitted line may lie from a pressure before the readings contradict each other, in sigmas.
CONTRADICTION = 3.5


class Path(NamedTuple):
    """Pa of ducts, filter and coil at 1 m3/s, each with the exponent by which it grows with airflow."""

    ducts: float
    filter: float
    coil: float
    ducts_exponent: float = DUCT_EXPONENT
    filter_exponent: float = FILTER_EXPONENT
    coil_exponent: float = COIL_EXPONENT


class Resistance(NamedTuple):
    """How the path stands now: multipliers of filter and coil against the state `Path` was fitted in, and a pressure held.

    `held_pa` is an external pressure that does not follow the airflow, as a laboratory's fan holds it; 0 in a house.
    """

    filter_load: float = 1.0
    coil_factor: float = 1.0
    held_pa: float = 0.0


@inline_kernel
def path_pressure(flow: float, path: Path, now: Resistance) -> tuple[float, float]:
    """Total pressure (Pa) that the path needs at an airflow above 0 m3/s, and its derivative against airflow."""
    ducts, filters, coil, ducts_exponent, filter_exponent, coil_exponent = path
    logarithm = np.log(flow)
    one = ducts * np.exp(ducts_exponent * logarithm)
    two = filters * now.filter_load * np.exp(filter_exponent * logarithm)
    three = coil * now.coil_factor * np.exp(coil_exponent * logarithm)
    slope = (one * ducts_exponent + two * filter_exponent + three * coil_exponent) / flow
    return one + two + three + now.held_pa, slope


@dataclass(frozen=True)
class StaticReading:
    """Drops read at one speed, Pa as magnitudes: ducts (supply and return outside the cabinet), filter, coil; None where not read.

    `airflow_m3_s` may be None from the second reading on: ducts then tell it, by their exponent.
    """

    airflow_m3_s: float | None
    ducts_pa: float | None = None
    filter_pa: float | None = None
    coil_pa: float | None = None


@dataclass(frozen=True)
class PathFit:
    """A path that fits, one sigma of each exponent, and (part, reading from 1, Pa read less Pa fitted) of each pressure."""

    path: Path
    exponent_sigma: tuple[float, float, float]
    residuals: tuple[tuple[str, int, float], ...]


_PARTS = ("ducts", "filter", "coil")
_EXPONENTS = (DUCT_EXPONENT, FILTER_EXPONENT, COIL_EXPONENT)


def fit_path(readings: Sequence[StaticReading]) -> PathFit:
    """Coefficients from pressures at one speed; exponents too, weighed against their usual values, where there are more speeds.

    A part never read keeps 0. Raises `InputError` for readings without airflow or pressure, and names the reading that
    contradicts the rest.
    """
    if not readings or readings[0].airflow_m3_s is None:
        raise InputError("static pressures need the airflow of the first reading: measure it once.")
    flows = _airflows(readings)
    values, exponents, sigmas, residuals = [], [], [], []
    for part, usual, spread in zip(_PARTS, _EXPONENTS, EXPONENT_SIGMA, strict=True):
        read = [
            (number, flow, pressure)
            for number, (flow, reading) in enumerate(zip(flows, readings, strict=True), start=1)
            if (pressure := getattr(reading, f"{part}_pa")) is not None
        ]
        if not read:
            values.append(0.0)
            exponents.append(usual)
            sigmas.append(spread)
            continue
        for number, _, pressure in read:
            if not 0.5 <= pressure <= 1500.0:
                raise OutOfRangeError(
                    f"static reading {number}: {part} must lie in 0.5 to 1500 Pa, got {pressure:g} Pa: give its magnitude."
                )
        x = np.log([flow for _, flow, _ in read])
        y = np.log([pressure for _, _, pressure in read])
        sigma = np.array([PRESSURE_SIGMA + PRESSURE_SIGMA_PA / pressure for _, _, pressure in read])
        matrix = np.vstack([np.stack([np.ones_like(x), x], axis=1) / sigma[:, None], [0.0, 1.0 / spread]])
        solved = np.linalg.lstsq(matrix, np.append(y / sigma, usual / spread), rcond=None)[0]
        off = y - solved[0] - solved[1] * x
        worst = int(np.argmax(np.abs(off / sigma)))
        if abs(off[worst] / sigma[worst]) > CONTRADICTION or abs(solved[1] - usual) > CONTRADICTION * spread:
            number, flow, pressure = read[worst]
            raise InputError(
                f"static reading {number}: {part} at {pressure:.3g} Pa and {flow:.3g} m3/s does not go with the other readings, "
                f"whose line gives {exp(solved[0] + solved[1] * log(flow)):.3g} Pa: read it again, with the same filter and coil."
            )
        values.append(exp(solved[0]))
        exponents.append(float(solved[1]))
        sigmas.append(float(np.sqrt(np.linalg.inv(matrix.T @ matrix)[1, 1])))
        residuals += [
            (part, number, pressure - exp(solved[0] + solved[1] * log(flow))) for number, flow, pressure in read
        ]
    return PathFit(
        Path(values[0], values[1], values[2], exponents[0], exponents[1], exponents[2]),
        (sigmas[0], sigmas[1], sigmas[2]),
        tuple(residuals),
    )


def _airflows(readings: Sequence[StaticReading]) -> list[float]:
    flows: list[float] = []
    for number, reading in enumerate(readings, start=1):
        flow = reading.airflow_m3_s
        if flow is None:
            first = readings[0]
            if not first.ducts_pa or not reading.ducts_pa:
                raise InputError(
                    f"static reading {number} has no airflow and no duct pressure to tell it from: read one of them there, "
                    "and ducts in the first reading."
                )
            flow = flows[0] * (reading.ducts_pa / first.ducts_pa) ** (1.0 / DUCT_EXPONENT)
        if not 0.005 <= flow <= 5.0:
            raise OutOfRangeError(
                f"static reading {number}: airflow must lie in 0.005 to 5 m3/s, got {flow:g}: check the reading."
            )
        flows.append(float(flow))
    return flows


def frosted_coil_factor(blocked: float, exponent: float = COIL_EXPONENT) -> float:
    """How many times the clear coil's pressure a coil takes with a part of its face closed by frost, 0 to 0.9.

    What stays open sees its velocity rise as 1 / (1 - blocked) [own-derivation].
    """
    if not 0.0 <= blocked <= 0.9:
        raise OutOfRangeError(
            f"the part of a coil closed by frost must lie in 0 to 0.9, got {blocked:g}: thaw it beyond that."
        )
    return float((1.0 - blocked) ** -exponent)


def face_velocity_m_s(airflow_m3_s: float, face_area_m2: float) -> float:
    """Velocity at the coil's face; area above 0.02 m2 (the finned face, all slabs of an A-coil)."""
    if not 0.02 <= face_area_m2 <= 5.0:
        raise OutOfRangeError(f"a coil's face must lie in 0.02 to 5 m2, got {face_area_m2:g}: measure the finned face.")
    return airflow_m3_s / face_area_m2


def carry_over_limit_m_s(fins_per_inch: float | None = None) -> float:
    """Face velocity above which a wet coil's water is blown off: 550 fpm to 10 fins an inch, 500 fpm above or where not known."""
    if fins_per_inch is not None and not 4.0 <= fins_per_inch <= 30.0:
        raise OutOfRangeError(f"fins must lie in 4 to 30 an inch, got {fins_per_inch:g}: count them over an inch.")
    few = fins_per_inch is not None and fins_per_inch <= DENSE_FINS_PER_INCH
    return CARRY_OVER_M_S if few else CARRY_OVER_DENSE_M_S


def carries_over(airflow_m3_s: float, face_area_m2: float, fins_per_inch: float | None = None) -> bool:
    """Whether a wet coil is likely to blow water off at this airflow."""
    return face_velocity_m_s(airflow_m3_s, face_area_m2) > carry_over_limit_m_s(fins_per_inch)
