"""The file `airtrim new` writes: the eight values of a first answer, ready to be changed."""

from uuid import uuid4


def new_job_text(name: str = "New job") -> str:
    """A job file to fill in; every value that carries a unit has it written out, and the reading its own UUID."""
    return _TEXT.replace("{name}", name.replace("\\", "").replace('"', "'")).replace("{id}", str(uuid4()))


_TEXT = """# One house, one system, one complaint. Inch-pound or SI, as you like, but always with the unit.
airtrim_job = 1
name = "{name}"

[house]
place = "Greensboro, NC"
floor_area = "1650 ft2"
year_built = 1988

[system]
outdoor_size = "3 tons"
coil_size = "3 tons"

[heat]
kind = "electric_strip"        # electric_strip, furnace, heat_pump, none, unknown
strip_power = "10 kW"          # a furnace: furnace_output and greatest_rise

[thermostat]
set_point = "75 F"
fan = "auto"                   # auto or on

[complaint]
kinds = ["damp"]               # damp, noise, uneven, cost, icing, too_dry, stops
season = "spring"
relative_humidity = "60 %"

[weather]
# file = "year.epw"            # EPW, TMY3, TMY2, greensboro-nc or miami-fl; left out, a year is made up for the place

[[readings]]
id = "{id}"
airflow = "1200 cfm"           # or total_external_static with blower.fan_table
"""
