"""Which places of the document stand on which page, in the order of the work."""

from dataclasses import dataclass

#: The eight values of a first answer, as groups of places asked together.
FIRST = (
    "house.place",
    "house.floor_area",
    "house.year_built",
    "system.outdoor_size",
    "heat.kind",
    "thermostat.set_point",
    "complaint.kinds",
    "readings.1.airflow",
)
AIRFLOW = "readings.1.airflow"
#: Required by the document though a first answer may take it from its neighbour.
FOLLOWS = {"system.coil_size": "system.outdoor_size"}


@dataclass(frozen=True)
class Group:
    """Places under one heading, and lists of records whose rows stand there (what a row holds, the schema says)."""

    id: str
    places: tuple[str, ...]
    lists: tuple[str, ...] = ()


SURVEY = (
    Group("first", ("name", *FIRST[:5], "thermostat.set_point", "thermostat.fan", "complaint.kinds")),
    Group("complaint", ("complaint.season", "complaint.relative_humidity", "complaint.signs", "complaint.words")),
    Group(
        "system",
        (
            "system.coil_size",
            "system.replaced_size",
            "system.refrigerant",
            "system.metering_device",
            "system.year",
            "system.stages",
            "system.least_listed_airflow",
            "system.drain_trap",
            "system.float_switch",
        ),
    ),
    Group(
        "blower",
        (
            "blower.motor",
            "blower.taps",
            "blower.tap_in_use",
            "blower.horsepower",
            "blower.nameplate_amps",
            "blower.nameplate_volts",
            "blower.run_capacitor",
            "blower.speed_control",
            "blower.bearing",
        ),
    ),
    Group("fan_table", (), ("blower.fan_table",)),
    Group(
        "heat",
        (
            "heat.strip_power",
            "heat.furnace_output",
            "heat.furnace_input",
            "heat.efficiency",
            "heat.condensing",
            "heat.least_airflow",
            "heat.least_rise",
            "heat.greatest_rise",
            "heat.rise_read",
            "heat.limit_temperature",
            "heat.tap",
            "heat.own_lead",
            "heat.heat_pump_output",
            "heat.high_pressure_switch",
            "heat.defrost",
            "heat.strip_in_defrost",
        ),
    ),
    Group("heat_stages", (), ("heat.stages",)),
    Group(
        "ducts",
        (
            "ducts.place",
            "ducts.filter_size",
            "ducts.filters",
            "ducts.return_leak",
            "ducts.supply_leak",
            "ducts.cabinet_leakage",
            "ducts.zones",
            "ducts.bypass_damper",
            "ducts.outdoor_air_duct",
        ),
    ),
    Group(
        "house",
        (
            "house.storeys",
            "house.ceiling_height",
            "house.bedrooms",
            "house.people",
            "house.blower_door_at_50_pa",
            "house.combustion_appliances",
            "house.dangers",
            "habits.moisture",
        ),
    ),
    Group("exhausts", (), ("habits.exhausts",)),
    Group(
        "thermostat",
        (
            "thermostat.coldest_set_point",
            "thermostat.heating_set_point",
            "thermostat.off_delay",
            "thermostat.humidity_terminals",
            "thermostat.overcool_limit",
        ),
    ),
    Group("set_backs", (), ("thermostat.set_backs",)),
    Group("instruments", (), ("instruments",)),
    Group(
        "tariff",
        (
            "tariff.price_per_kwh",
            "tariff.currency",
            "tariff.fixed_per_month",
            "tariff.rider_per_kwh",
            "tariff.tax",
            "tariff.demand_per_kw",
            "tariff.other_use",
            "tariff.time_zone",
        ),
    ),
    Group("prices_by_use", (), ("tariff.tiers", "tariff.periods", "tariff.seasons")),
    Group("prices", (), ("options.prices",)),
    Group(
        "weather",
        (
            "weather.station",
            "weather.latitude",
            "weather.longitude",
            "weather.file",
            "weather.made_up_year",
            "weather.dry_bulb_shift",
            "weather.dry_bulb_scale",
            "weather.dew_point_shift",
            "weather.dew_point_scale",
        ),
    ),
    Group(
        "drive",
        (
            "drive.model",
            "drive.maker_approves",
            "drive.rated_volts",
            "drive.rated_amps",
            "drive.rated_ambient",
            "drive.derated_ambient",
            "drive.derated_amps",
            "drive.mounting",
            "drive.mounting_ambient",
            "drive.protector_in_circuit",
            "drive.lead",
            "drive.lead_approved",
            "drive.other_leads_capped",
        ),
    ),
    Group("drive_modes", (), ("drive.modes",)),
    Group(
        "limits",
        (
            "options.consider",
            "options.aim",
            "options.cards",
            "options.rate",
            "options.years",
            "safe_limits.coil_floor",
            "safe_limits.least_airflow_per_ton",
            "safe_limits.least_frequency",
        ),
    ),
)
READINGS = (
    Group("airflow", ("airflow", "airflow_uncertainty", "total_external_static", "blower_power")),
    Group(
        "return_air",
        ("return_dry_bulb", "return_wet_bulb", "return_relative_humidity", "grille_dry_bulb", "grille_wet_bulb"),
    ),
    Group(
        "supply_air",
        (
            "supply_dry_bulb",
            "supply_wet_bulb",
            "outdoor_dry_bulb",
            "supply_relative_humidity",
            "supply_dry_bulbs",
            "supply_place",
            "blower_place",
        ),
    ),
    Group(
        "refrigerant",
        (
            "saturated_suction",
            "superheat",
            "suction_pressure",
            "suction_line",
            "liquid_pressure",
            "liquid_line",
            "discharge_pressure",
        ),
    ),
    Group("moment", ("time", "operation", "tap", "running_for", "coil", "airflow_is")),
    Group(
        "statics",
        (
            "static_before_filter",
            "static_after_filter",
            "static_before_coil",
            "static_after_coil",
            "static_supply",
            "closed_doors_static",
        ),
    ),
    Group(
        "electrical",
        (
            "blower_volts",
            "blower_amps",
            "power_factor",
            "capacitor_volts",
            "capacitor_amps",
            "line_frequency",
            "blower_speed",
        ),
    ),
    Group("log", (), ("log",)),
    Group("condensate", ("condensate.volume", "condensate.time")),
    Group("traverses", (), ("traverses",)),
    Group("grilles", (), ("grilles",)),
    Group("rooms", (), ("rooms",)),
    Group("surfaces", (), ("surfaces",)),
    Group("strip_circuits", (), ("strip_circuits",)),
    Group("gas", ("gas.volume", "gas.time", "gas.heating_value", "gas.efficiency")),
    Group(
        "known_point",
        ("known_point.airflow", "known_point.airflow_uncertainty", "known_point.speed", "known_point.static"),
    ),
    Group(
        "plate",
        (
            "plate.drop",
            "plate.airflow_at_1_pa",
            "plate.open_area",
            "plate.discharge",
            "plate.supply_static_with",
            "plate.supply_static_without",
        ),
    ),
    Group("matching", ("matching.fan_airflow", "matching.air_at_fan", "matching.reached", "matching.wanted")),
)
#: Lists that are the whole of their group, and so need no second heading.
ALONE = frozenset(
    [group.lists[0] for group in SURVEY if len(group.lists) == 1 and not group.places]
    + [f"readings.{group.lists[0]}" for group in READINGS if len(group.lists) == 1 and not group.places]
)
#: Groups unfolded though nothing is in them.
USUAL = ("first", "airflow", "return_air", "supply_air", "refrigerant")
#: Places nobody fills in by hand.
UNSEEN = ("airtrim_job", "readings.1.id")
#: What narrows the answer most, first: without airflow there is none, then what the fit compares the model with.
READ_NEXT = (
    "airflow",
    "return_dry_bulb",
    "return_wet_bulb",
    "outdoor_dry_bulb",
    "supply_dry_bulb",
    "saturated_suction",
    "total_external_static",
    "blower_power",
    "superheat",
    "supply_wet_bulb",
    "grille_dry_bulb",
    "grille_wet_bulb",
)
#: What tells nothing of a reading in heat, and of one with the fan alone.
NOT_IN_HEAT = (
    "return_wet_bulb",
    "outdoor_dry_bulb",
    "saturated_suction",
    "superheat",
    "supply_wet_bulb",
    "grille_wet_bulb",
)
NOT_BY_FAN = (*NOT_IN_HEAT, "supply_dry_bulb", "grille_dry_bulb")
