"""The two-winding revolving field as kernels: what a capacitor motor does at any speed, volts, hertz and tap.

Morrill, AIEE Trans. 1929 [morrill1929]; windings in quadrature, turns ratio a (auxiliary / main), rotor values on the main
side, reactances at 60 Hz scaled with frequency. Checked against two textbook examples in tests/published and, state by state,
against the two-axis form of the same motor in tests/physics/blower.
"""

from math import pi, sqrt
from typing import NamedTuple

import numpy as np

from airtrim.core.kernels import inline_kernel, kernel

LINE_HERTZ = 60.0


class Circuit(NamedTuple):
    """Ohms at 60 Hz of main winding, rotor, magnetising branch and auxiliary winding; auxiliary/main turns; farad.

    A `capacitor_f` of 0 means an open auxiliary winding: a split-phase motor after its switch has opened.
    """

    r1: float
    x1: float
    r2: float
    x2: float
    xm: float
    r1_aux: float
    x1_aux: float
    turns_ratio: float
    capacitor_f: float


class Supply(NamedTuple):
    """What the motor is given: fundamental volts, hertz, and the main winding's turns against the fastest tap (1 and up)."""

    volts: float
    hertz: float
    tap_factor: float


class MotorState(NamedTuple):
    """Air-gap torque N m, winding input W (core and friction not in it), amps, capacitor volts, and where the watts stay."""

    torque_n_m: float
    watts: float
    line_a: float
    main_a: float
    auxiliary_a: float
    capacitor_v: float
    main_copper_w: float
    auxiliary_copper_w: float
    rotor_w: float
    main_degrees: float
    auxiliary_degrees: float
    backward_over_forward: float


@inline_kernel
def _inverse(z: complex) -> complex:
    return z.conjugate() / (z.real * z.real + z.imag * z.imag)


@inline_kernel
def _square(z: complex) -> float:
    return z.real * z.real + z.imag * z.imag


@inline_kernel
def _capacitor_ohms(hertz: float, capacitor_f: float) -> float:
    return 1.0 / (2.0 * pi * hertz * capacitor_f) if capacitor_f > 0.0 else 1e12


Complexes = tuple[complex, complex, complex, complex, complex, complex, complex, complex, complex, complex]


@inline_kernel
def _windings(slip: float, supply: Supply, circuit: Circuit) -> Complexes:
    """Field impedances and what they divide by; main, cross and auxiliary impedance; 1 / determinant; the two currents."""
    volts, hertz, factor = supply
    r1, x1, r2, x2, xm, r1_aux, x1_aux, ratio, capacitor = circuit
    scale, turns, a = hertz / LINE_HERTZ, factor * factor, ratio / factor
    magnetising, resistance, leakage = xm * scale * turns, r2 * turns, x2 * scale * turns
    # jXm (R2 + j s X2) / (R2 + j s (Xm + X2)): written so that synchronous speed divides by nothing
    forward = _inverse(complex(resistance, slip * (magnetising + leakage)))
    backward = _inverse(complex(resistance, (2.0 - slip) * (magnetising + leakage)))
    zf = 1j * magnetising * complex(resistance, slip * leakage) * forward
    zb = 1j * magnetising * complex(resistance, (2.0 - slip) * leakage) * backward
    main = complex(r1 * turns, x1 * scale * turns) + 0.5 * (zf + zb)
    cross = 0.5 * a * (zf - zb)
    auxiliary = complex(r1_aux, x1_aux * scale - _capacitor_ohms(hertz, capacitor)) + 0.5 * a * a * (zf + zb)
    inverse = _inverse(main * auxiliary - cross * cross)  # (-j c)(+j c) = c^2
    i_main = volts * (auxiliary + 1j * cross) * inverse
    i_aux = volts * (main - 1j * cross) * inverse
    return zf, zb, forward, backward, main, cross, auxiliary, inverse, i_main, i_aux


@kernel
def torque_and_slope(slip: float, poles: float, supply: Supply, circuit: Circuit) -> tuple[float, float]:
    """Air-gap torque N m and its derivative against slip, N m per unit slip; slip -1 to 1. NaN in, NaN out.

    The slope follows from Z I = V: I' = -Z^-1 Z' I, with Zf' = Xm^2 R2 / D^2 and Zb' its counterpart of the other sign.
    """
    zf, zb, forward, backward, main, cross, auxiliary, inverse, i_main, i_aux = _windings(slip, supply, circuit)
    a = circuit.turns_ratio / supply.tap_factor
    turns = supply.tap_factor * supply.tap_factor
    magnetising = circuit.xm * supply.hertz / LINE_HERTZ * turns
    rise = magnetising * magnetising * circuit.r2 * turns
    zf_slope, zb_slope = rise * forward * forward, -rise * backward * backward
    both, either = 0.5 * (zf_slope + zb_slope), 0.5 * a * (zf_slope - zb_slope)
    v_main = -(both * i_main - 1j * either * i_aux)
    v_aux = -(1j * either * i_main + a * a * both * i_aux)
    main_slope = (auxiliary * v_main + 1j * cross * v_aux) * inverse
    aux_slope = (main * v_aux - 1j * cross * v_main) * inverse
    i_forward, i_backward = 0.5 * (i_main - 1j * a * i_aux), 0.5 * (i_main + 1j * a * i_aux)
    forward_slope, backward_slope = 0.5 * (main_slope - 1j * a * aux_slope), 0.5 * (main_slope + 1j * a * aux_slope)
    gap = 2.0 * (_square(i_forward) * zf.real - _square(i_backward) * zb.real)
    gap_slope = 2.0 * (_square(i_forward) * zf_slope.real - _square(i_backward) * zb_slope.real) + 4.0 * (
        (i_forward.conjugate() * forward_slope).real * zf.real
        - (i_backward.conjugate() * backward_slope).real * zb.real
    )
    field = 4.0 * pi * supply.hertz / poles
    return gap / field, gap_slope / field


@kernel
def supplied_state(speed_rpm: float, poles: float, supply: Supply, circuit: Circuit) -> MotorState:
    """The whole state at a speed from standstill to somewhat above synchronous; 5 to 90 Hz. NaN in, NaN out.

    Angles are against the supply's voltage, the auxiliary winding's polarity such that it leads.
    """
    slip = 1.0 - speed_rpm * poles / (120.0 * supply.hertz)
    zf, zb, _, _, _, _, _, _, i_main, i_aux = _windings(slip, supply, circuit)
    a = circuit.turns_ratio / supply.tap_factor
    forward, backward = _square(0.5 * (i_main - 1j * a * i_aux)), _square(0.5 * (i_main + 1j * a * i_aux))
    gap_forward, gap_backward = 2.0 * forward * zf.real, 2.0 * backward * zb.real
    line = i_main + i_aux
    main_a, auxiliary_a = sqrt(_square(i_main)), sqrt(_square(i_aux))
    return MotorState(
        (gap_forward - gap_backward) / (4.0 * pi * supply.hertz / poles),
        supply.volts * line.real,
        sqrt(_square(line)),
        main_a,
        auxiliary_a,
        auxiliary_a * _capacitor_ohms(supply.hertz, circuit.capacitor_f),
        main_a * main_a * circuit.r1 * supply.tap_factor * supply.tap_factor,
        auxiliary_a * auxiliary_a * circuit.r1_aux,
        slip * gap_forward + (2.0 - slip) * gap_backward,
        np.degrees(np.arctan2(i_main.imag, i_main.real)),
        np.degrees(np.arctan2(i_aux.imag, i_aux.real)),
        sqrt(backward / forward),
    )
