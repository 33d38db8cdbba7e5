"""How a figure was come by: its formula, what went in, and where the formula is from, in a form that can be computed again.

A working is {id, figure, formula, inputs, source}, or {id, figure, method, inputs, source} where the figure has no closed form
(`method` is a catalogue id). A formula is written in names, numbers, + - * / ** and the functions below; it holds for SI values,
and `evaluated` gives its value at the inputs. `inputs` are {name, value, unit}; a text is a name, such as the refrigerant's.
"""

import ast
import math
import operator
from collections.abc import Callable, Mapping
from typing import Any

from airtrim.core.errors import InputError
from airtrim.physics.air.moist import (
    dew_point_c,
    humidity_ratio_from_relative_humidity,
    humidity_ratio_from_wet_bulb,
    saturation_humidity_ratio,
)
from airtrim.physics.refrigerant import saturation
from airtrim.physics.unit.charging import target_split_k, target_superheat_k
from airtrim.tables import refrigerant
from airtrim.work.figure import Figure

Inputs = Mapping[str, tuple[float | str, str]]


def _moisture_by_wet_bulb(dry: float, wet: float, pressure: float) -> float:
    if wet >= dry:
        return saturation_humidity_ratio(0.5 * (wet + dry), pressure)
    return max(humidity_ratio_from_wet_bulb(dry, wet, pressure), 0.0)


def _moisture_by_humidity(dry: float, humidity: float, pressure: float) -> float:
    return humidity_ratio_from_relative_humidity(dry, min(max(humidity, 0.0), 1.0), pressure)


#: Functions that formulas call, by the name they are shown with; temperatures in degC, pressures absolute, Pa.
FUNCTIONS: dict[str, Callable[..., float]] = {
    "abs": abs,
    "max": max,
    "sqrt": math.sqrt,
    "exp": math.exp,
    "ln": math.log,
    "moisture_by_wet_bulb": _moisture_by_wet_bulb,
    "moisture_by_humidity": _moisture_by_humidity,
    "dew_point_of": lambda moisture, pressure: dew_point_c(max(moisture, 1e-5), pressure),
    "dew_temperature": lambda name, pressure: saturation.dew_temperature_c(refrigerant(name).table, pressure),
    "bubble_temperature": lambda name, pressure: saturation.bubble_temperature_c(refrigerant(name).table, pressure),
    "charging_chart": target_superheat_k,
    "split_table": target_split_k,
}
_OPERATORS: dict[type[ast.operator], Callable[[float, float], float]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.Pow: operator.pow,
}


def working(identity: str, figure: Figure, formula: str, source: str, inputs: Inputs) -> dict[str, Any]:
    """The working of a figure with a closed form."""
    return {"id": identity, "figure": figure, "formula": formula, "inputs": _listed(inputs), "source": source}


def by_method(identity: str, figure: Figure, method: str, source: str, inputs: Inputs) -> dict[str, Any]:
    """The working of a figure that a model or a fit gives; `method` is a catalogue id below `working.method`."""
    return {
        "id": identity,
        "figure": figure,
        "method": f"working.method.{method}",
        "inputs": _listed(inputs),
        "source": source,
    }


def _listed(inputs: Inputs) -> list[dict[str, Any]]:
    return [{"name": name, "value": value, "unit": unit} for name, (value, unit) in inputs.items()]


def evaluated(one: Mapping[str, Any]) -> float:
    """The formula's value at its inputs, SI; raises `InputError` for a name that is not among the inputs."""
    values = {given["name"]: given["value"] for given in one["inputs"]}

    def of(node: ast.AST) -> Any:
        match node:
            case ast.Constant(value=int() | float() as value):
                return value
            case ast.Name(id=name) if name in values:
                return values[name]
            case ast.UnaryOp(op=ast.USub(), operand=operand):
                return -of(operand)
            case ast.BinOp(left=left, op=op, right=right) if type(op) in _OPERATORS:
                return _OPERATORS[type(op)](of(left), of(right))
            case ast.Call(func=ast.Name(id=name), args=arguments, keywords=[]) if name in FUNCTIONS:
                return FUNCTIONS[name](*(of(argument) for argument in arguments))
        raise InputError(
            f"The formula of {one['id']} has a part that is not among its inputs: {ast.unparse(node)}; report this."
        )

    return float(of(ast.parse(str(one["formula"]), mode="eval").body))
