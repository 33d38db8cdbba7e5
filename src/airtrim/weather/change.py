"""A hotter, cooler, wetter or drier year: dry-bulb and dew point shifted, and their departures from the month's course scaled."""

from dataclasses import dataclass, replace

import numpy as np

from airtrim.core.errors import OutOfRangeError
from airtrim.weather.checks import counted, was
from airtrim.weather.days import by_month, smooth_days
from airtrim.weather.monthly import MonthlyMeans
from airtrim.weather.year import Hours


@dataclass(frozen=True)
class Change:
    """Shifts in K (-15 to 15), scales (0.2 to 3) of what departs from the month's smooth course; as it is by default."""

    dry_bulb_shift_k: float = 0.0
    dry_bulb_scale: float = 1.0
    dew_point_shift_k: float = 0.0
    dew_point_scale: float = 1.0

    def __post_init__(self) -> None:
        for name in ("dry_bulb", "dew_point"):
            shift, scale = getattr(self, f"{name}_shift_k"), getattr(self, f"{name}_scale")
            if not -15.0 <= shift <= 15.0:
                raise OutOfRangeError(
                    f"The shift of {_said(name)} must lie in -15 to 15 K, got {shift:g} K: give a smaller one."
                )
            if not 0.2 <= scale <= 3.0:
                raise OutOfRangeError(
                    f"The scale of {_said(name)} must lie in 0.2 to 3, got {scale:g}: 1 leaves it as it is."
                )

    @property
    def is_none(self) -> bool:
        """Whether nothing is changed."""
        return self == Change()

    @property
    def said(self) -> str:
        """What was changed, for the result: both units, since the reader's are not known here."""
        parts = []
        for name in ("dry_bulb", "dew_point"):
            shift, scale = getattr(self, f"{name}_shift_k"), getattr(self, f"{name}_scale")
            if shift != 0.0:
                parts.append(f"{_said(name)} shifted by {1.8 * shift:+.1f} F ({shift:+.1f} K)")
            if scale != 1.0:
                parts.append(f"departures of {_said(name)} from the month's course times {scale:g}")
        return "; ".join(parts)


def _said(name: str) -> str:
    return {"dry_bulb": "dry-bulb", "dew_point": "dew point"}[name]


def changed_means(means: MonthlyMeans, change: Change) -> MonthlyMeans:
    """The monthly figures changed, from which a year is then made up: under saturation by construction."""
    if change.is_none:
        return means
    hot = float(means.dry_bulb_c.max())
    damp = float(means.dew_point_c[int(means.dry_bulb_c.argmax())])
    return replace(
        means,
        origin=f"{means.origin}; {change.said}",
        dry_bulb_c=means.dry_bulb_c + change.dry_bulb_shift_k,
        dew_point_c=means.dew_point_c + change.dew_point_shift_k,
        dry_bulb_spread_k=means.dry_bulb_spread_k * change.dry_bulb_scale,
        daily_range_k=means.daily_range_k * change.dry_bulb_scale,
        dew_point_spread_k=means.dew_point_spread_k * change.dew_point_scale,
        design_dry_bulb_c=hot + change.dry_bulb_shift_k + change.dry_bulb_scale * (means.design_dry_bulb_c - hot),
        design_dew_point_c=damp + change.dew_point_shift_k + change.dew_point_scale * (means.design_dew_point_c - damp),
    )


def changed_hours(hours: Hours, change: Change) -> Hours:
    """A file's hours changed; where the dew point would pass the dry-bulb the hour is taken as saturated, and counted in a note."""
    if change.is_none:
        return hours
    dry, dew = (
        course + shift + scale * (values - course)
        for values, course, shift, scale in (
            (hours.dry_bulb_c, _course(hours.dry_bulb_c), change.dry_bulb_shift_k, change.dry_bulb_scale),
            (hours.dew_point_c, _course(hours.dew_point_c), change.dew_point_shift_k, change.dew_point_scale),
        )
    )
    over = int((dew > dry + 1e-9).sum())
    notes = hours.notes
    if over:
        notes += (
            f"By the change {counted(over)} had a dew point above the dry-bulb and {was(over)} taken as saturated.",
        )
    return replace(
        hours, source=f"{hours.source}; {change.said}", dry_bulb_c=dry, dew_point_c=np.minimum(dew, dry), notes=notes
    )


def _course(hourly: np.ndarray) -> np.ndarray:
    return np.repeat(smooth_days(by_month(hourly)), 24)
