"""The capacitor motor once more, in the two-axis form: a slow, plain reference for the revolving field.

Both windings on the main side (auxiliary current times a, voltage over a), a symmetrical two-phase rotor in the stationary
frame, phasors at line frequency. Nothing of it is shared with the program.
"""

import numpy as np


def two_axis_state(speed_rpm, volts, hertz, poles, circuit):
    """Torque N m, main and auxiliary current as complex amperes, input W."""
    r1, x1, r2, x2, xm, r1_aux, x1_aux, a, capacitor = circuit
    x1, x2, xm, x1_aux = (value * hertz / 60.0 for value in (x1, x2, xm, x1_aux))
    nu = speed_rpm * poles / (120.0 * hertz)
    xr = x2 + xm
    zc = -1j / (2.0 * np.pi * hertz * capacitor)
    auxiliary = (r1_aux + 1j * x1_aux + zc) / a**2
    # unknowns: main, auxiliary (on the main side), rotor along the main axis, rotor along the auxiliary axis
    matrix = np.array(
        [
            [r1 + 1j * (x1 + xm), 0.0, 1j * xm, 0.0],
            [0.0, auxiliary + 1j * xm, 0.0, 1j * xm],
            [1j * xm, -nu * xm, r2 + 1j * xr, -nu * xr],
            [nu * xm, 1j * xm, nu * xr, r2 + 1j * xr],
        ],
        dtype=complex,
    )
    main, aux, rotor_q, rotor_d = np.linalg.solve(matrix, np.array([volts, volts / a, 0.0, 0.0], dtype=complex))
    flux = xm / (2.0 * np.pi * hertz)
    # what the speed voltages (-nu along main, +nu along auxiliary) take up becomes mechanical
    torque = 0.5 * poles * flux * (main * np.conj(rotor_d) - aux * np.conj(rotor_q)).real
    line = main + aux / a
    return torque, main, aux / a, volts * line.real
