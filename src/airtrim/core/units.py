"""The one pint registry, and the gate between quantities and the SI floats that physics works on.

Inside physics every number is SI, but for temperatures, which are degrees Celsius, as the moist-air equations are written.
"""

from collections.abc import Callable, Mapping
from functools import lru_cache, wraps
from inspect import signature
from typing import Any, ParamSpec, Protocol, cast

import numpy as np
import pint

from airtrim.core.errors import OutOfRangeError, UnitError

registry: pint.UnitRegistry[Any] = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
registry.define("ton_cooling = 12000 * Btu / hour = ton_of_cooling = tons")
registry.define("cfm = foot ** 3 / minute = CFM")
registry.define("grain_per_pound = 1 / 7000 = gr_per_lb")
registry.define("@alias inch_H2O = inwc = inwg")
pint.set_application_registry(registry)  # type: ignore[no-untyped-call]
Quantity = registry.Quantity

P = ParamSpec("P")
Bounds = tuple[str, float, float]  # unit, lowest, highest
#: Bounds that depend on the arguments before this one, themselves already SI; lowest and highest may be arrays.
BoundsOfCall = Callable[[Mapping[str, Any]], tuple[str, Any, Any]]


class Gated(Protocol[P]):
    """A public function of quantities that remembers its units and its source."""

    source: str
    accepts: dict[str, Bounds | BoundsOfCall]
    returns: str

    def __call__(self, *args: P.args, **kwargs: P.kwargs) -> Any: ...


def si_gate(*, returns: str, source: str, **accepts: Bounds | BoundsOfCall) -> Callable[[Callable[P, Any]], Gated[P]]:
    """Turn a function of SI floats into one of quantities, checking unit and range once, whole arrays at a time."""

    def decorate(function: Callable[P, Any]) -> Gated[P]:
        bind = signature(function).bind

        @wraps(function)
        def gated(*args: P.args, **kwargs: P.kwargs) -> Any:
            bound = bind(*args, **kwargs)
            for name, given in accepts.items():
                if name in bound.arguments:
                    bounds = given(bound.arguments) if callable(given) else given
                    bound.arguments[name] = to_si(bound.arguments[name], bounds, f"{function.__name__}: {name}")
            return Quantity(function(*bound.args, **bound.kwargs), returns)

        gate = cast("Gated[P]", gated)
        gate.source, gate.accepts, gate.returns = source, accepts, returns
        return gate

    return decorate


def to_si(value: Any, bounds: tuple[str, Any, Any], what: str) -> Any:
    """The magnitude of a quantity in the unit of `bounds`, if it lies in the range; NaN does not.

    The lowest and highest may be arrays that broadcast with the value: the message tells those of its first wrong element.
    """
    unit, low, high = bounds
    if not isinstance(value, pint.Quantity):
        raise UnitError(
            f"{what} needs a unit such as {_pretty(unit)}, got the plain number {value!r}: write the unit out."
        )
    try:
        magnitude = value.m_as(unit)
    except pint.DimensionalityError as error:
        raise UnitError(f"{what} must be convertible to {_pretty(unit)}, got {value:~P}: check the unit.") from error
    inside = np.asarray((magnitude >= low) & (magnitude <= high))  # written so that NaN fails too
    if not np.all(inside):
        own, first = value.units, np.argmin(inside)
        low, high = (np.broadcast_to(bound, inside.shape).flat[first] for bound in (low, high))
        least, most = (Quantity(bound, unit).to(own) for bound in (low, high))
        raise OutOfRangeError(
            f"{what} must lie in {least.m:.4g} to {most.m:.4g} {own:~P}, got {_worst(value)}: check the value."
        )
    return magnitude


@lru_cache(maxsize=256)
def _pretty(unit: str) -> str:
    return f"{registry.Unit(unit):~P}" or "a plain fraction"


def _worst(value: Any) -> str:
    return (
        f"{value:.6g~P}"
        if np.ndim(value.m) == 0
        else f"{np.size(value.m)} values from {np.min(value.m):.6g} to {np.max(value.m):.6g}"
    )
