"""A value with what its uncertainty is made of, so that two values that share an instrument know that they do.

Errors are carried to first order [jcgm100, 5.1 and F.1.2.3]: each independent source of error has a name (an instrument, a method)
and one signed effect on the value. Two values that name the same source are correlated by it, and a difference of two readings of
one thermometer loses the thermometer's error by itself.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from math import exp, isfinite, log, sqrt

from airtrim.work.figure import Figure

#: Standard deviations in half of a 90 % range, and in the one-sided 95 % bound.
NINETY = 1.6448536


@dataclass(frozen=True)
class Uncertain:
    """`value` (SI) and one-sigma signed effects of each source of error, by name."""

    value: float
    parts: Mapping[str, float] = field(default_factory=dict)

    @property
    def sigma(self) -> float:
        return sqrt(sum(part * part for part in self.parts.values()))

    @property
    def lowest(self) -> float:
        """What it is above with 95 % confidence."""
        return self.value - NINETY * self.sigma

    @property
    def highest(self) -> float:
        """What it is below with 95 % confidence."""
        return self.value + NINETY * self.sigma

    def covariance(self, other: "Uncertain") -> float:
        return sum(part * other.parts.get(name, 0.0) for name, part in self.parts.items())

    def with_part(self, name: str, sigma: float) -> "Uncertain":
        """The same value with one more source of error."""
        return Uncertain(self.value, {**self.parts, name: sqrt(self.parts.get(name, 0.0) ** 2 + sigma**2)})

    def figure(self, identity: str, unit: str, least: float | None = None, most: float | None = None) -> Figure:
        """The 90 % range as a figure; `{id, status, why}` where it is not a number. `least` and `most` are bounds of nature."""
        sigma = self.sigma
        if not (isfinite(self.value) and isfinite(sigma)):
            return {"id": identity, "status": "not_computed", "why": "outside the formula's range"}
        low = self.lowest if least is None else max(self.lowest, min(least, self.value))
        high = self.highest if most is None else min(self.highest, max(most, self.value))
        return {"id": identity, "low": low, "mid": self.value, "high": high, "unit": unit}


def certain(value: float) -> Uncertain:
    """A value taken as it is."""
    return Uncertain(value)


def carried(formula: Callable[..., float], **inputs: Uncertain | float) -> Uncertain:
    """The formula's value at the inputs, and each source's effect: half of the difference one sigma up and one sigma down.

    A source moves all inputs that name it together.
    """
    known = {name: one if isinstance(one, Uncertain) else Uncertain(float(one)) for name, one in inputs.items()}
    middle = float(formula(**{name: one.value for name, one in known.items()}))
    parts = {}
    for source in dict.fromkeys(source for one in known.values() for source in one.parts):

        def at(step: float, source: str = source) -> float:
            moved = {name: one.value + step * one.parts.get(source, 0.0) for name, one in known.items()}
            return float(formula(**moved))

        up, down = at(1.0), at(-1.0)
        # beyond an end of the formula's range (air wetter than saturated) the side that exists tells
        effect = (
            0.5 * (up - down) if isfinite(up) and isfinite(down) else up - middle if isfinite(up) else middle - down
        )
        if effect != 0.0:
            parts[source] = effect
    return Uncertain(middle, parts)


def mean_of(values: list[Uncertain]) -> Uncertain:
    """Mean of several readings; what they share does not shrink."""
    parts: dict[str, float] = {}
    for one in values:
        for name, part in one.parts.items():
            parts[name] = parts.get(name, 0.0) + part / len(values)
    return Uncertain(sum(one.value for one in values) / len(values), parts)


def in_logarithm(one: Uncertain) -> Uncertain:
    """The logarithm of a positive value, with the same sources."""
    return Uncertain(log(one.value), {name: part / one.value for name, part in one.parts.items()})


def log_figure(one: Uncertain, identity: str, unit: str) -> Figure:
    """A figure whose logarithm is known: never negative."""
    low, mid, high = (exp(one.value + step * one.sigma) for step in (-NINETY, 0.0, NINETY))
    return {"id": identity, "low": low, "mid": mid, "high": high, "unit": unit}
