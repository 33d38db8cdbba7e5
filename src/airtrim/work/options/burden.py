"""What an option burdens the owner with: money where prices are known, else the kind of work it is; extra energy counts."""

from collections.abc import Mapping, Sequence
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from airtrim.work.options.candidates import IDS
from airtrim.work.options.money import Terms, net_present_value

Array = NDArray[np.float64]
Option = Mapping[str, Any]
#: Kinds of work by cost and intrusion, the least first [common-practice]: nothing to buy or a habit; a visit without parts; a part
#: fitted; a machine bought; trades in the house; a new unit.
FREE, VISIT, PART, MACHINE, TRADES, UNIT = range(6)
CLASSES: Final[dict[str, int]] = {
    "leave_as_is": FREE,
    "fan_auto": FREE,
    "shorter_off_delay": FREE,
    "registers_open": FREE,
    "set_point_higher": VISIT,  # nothing to buy, but a habit given up
    "exhausts_by_need": FREE,
    "less_outdoor_air": VISIT,
    "freer_filter": VISIT,
    "larger_filter": PART,
    "clean_coil": VISIT,
    "lower_tap": VISIT,
    "second_lower_tap": VISIT,
    "thermostat_that_dries": PART,
    "reduced_voltage": PART,
    "drive_coil_feedback": PART,
    "free_standing_dehumidifier": MACHINE,
    "constant_torque_motor": MACHINE,
    "constant_airflow_motor": MACHINE,
    "constant_airflow_feedback": MACHINE,
    "seal_ducts": TRADES,
    "return_duct": TRADES,
    "supply_duct": TRADES,
    "ducted_dehumidifier": TRADES,
    "right_sized_unit": UNIT,
    "staged_unit": UNIT,
}
#: What costs nothing but a visit needs no price of the user.
UNPRICED: Final = (*(name for name, kind in CLASSES.items() if kind == FREE), "set_point_higher")
#: More electricity than this, kWh a year, beyond doubt, counts as one class more, or two [judgement: a freezer, a dehumidifier that
#: runs all summer].
MORE_KWH: Final = (150.0, 500.0)
#: Two together count a little more than the dearer of them.
_BOTH = 0.5
_PLACE = 1e-3


def kind_of(option: Option) -> float:
    """The kind of work, FREE to UNIT; two together half a class above the dearer part."""
    names = [str(name) for name in option.get("parts") or [option["id"]]]
    return max(CLASSES[name] for name in names) + _BOTH * (len(names) > 1)


def place_of(option: Option) -> int:
    """Place in the trade's order, for a choice among equals."""
    names = [str(name) for name in option.get("parts") or [option["id"]]]
    return max(IDS.index(name) for name in names)


def price_of(option: Option) -> float | None:
    """The user's price; nothing for what needs none."""
    price = option.get("price")
    return 0.0 if str(option["id"]) in UNPRICED else None if price is None else float(price)


def first_burdens(options: Sequence[Option]) -> dict[str, float]:
    """What each asks for at first: the prices where all are known, else the kind of work."""
    prices = {str(one["id"]): price_of(one) for one in options}
    if all(price is not None for price in prices.values()):
        return {str(one["id"]): float(prices[str(one["id"])] or 0.0) + _PLACE * place_of(one) for one in options}
    return {str(one["id"]): kind_of(one) + _PLACE * place_of(one) for one in options}


def burdens(options: Sequence[Option], terms: Terms | None) -> dict[str, float]:
    """The whole burden: with all prices, and `terms` where running costs are in money, first cost less the present worth of what is
    saved; else what each asks for at first, after the classes of electricity it costs more. The first option is how things are."""
    first = first_burdens(options)
    now = np.array(options[0]["by_system"]["cost_to_run"])
    priced = all(price_of(one) is not None for one in options)
    if priced and terms is not None:
        return {
            str(one["id"]): first[str(one["id"])]
            - float(np.median(net_present_value(0.0, now - np.array(one["by_system"]["cost_to_run"]), terms)))
            for one in options
        }
    scale = 1.0 if not priced else 1.0 + max(first.values())
    return {str(one["id"]): first[str(one["id"])] + scale * more_energy(one, options[0]) for one in options}


def more_energy(option: Option, now: Option) -> int:
    """How many of MORE_KWH an option takes more than now, beyond doubt."""
    more = np.array(option["by_system"]["kwh"]) - np.array(now["by_system"]["kwh"])
    return sum(float(np.quantile(more, 0.05)) > each for each in MORE_KWH)
