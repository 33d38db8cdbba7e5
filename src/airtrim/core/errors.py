"""Every error airtrim raises on purpose. Catch `AirtrimError` to catch them all.

AirtrimError
  x InputError         the caller gave something impossible (also a ValueError)
    + UnitError        no unit, an unknown unit, or a unit of the wrong dimension
    + OutOfRangeError  outside the range the model or the trade vouches for
    + JobError         the job file cannot be read or contradicts itself; names the place in the file
    + WeatherError     the weather file has a gap, a missing column, a wrong length
  x NoSolutionError    a well-posed question without an answer (also an ArithmeticError)
  x Cancelled          the caller asked to stop

Each message is one sentence: what, where, what was expected, how to mend it.
"""


class AirtrimError(Exception):
    """Base of all errors raised on purpose."""


class InputError(AirtrimError, ValueError):
    """The caller can mend this by giving a different value."""


class UnitError(InputError):
    """A quantity has the wrong dimension, or a plain number came where a unit is needed."""


class OutOfRangeError(InputError):
    """The value lies outside what is vouched for."""


class JobError(InputError):
    """The job file cannot be used as it stands."""


class WeatherError(InputError):
    """The weather file cannot be used as it stands."""


class NoSolutionError(AirtrimError, ArithmeticError):
    """The equations have no solution for these inputs."""


class Cancelled(AirtrimError):
    """The caller asked to stop before the answer was there."""
