"""Which station stands for a place: by name and state, by number, or by latitude and longitude."""

import difflib
import re
from collections.abc import Sequence
from dataclasses import dataclass
from math import asin, cos, radians, sin, sqrt
from typing import Final

from airtrim.core.errors import WeatherError
from airtrim.weather.monthly import MonthlyMeans

#: Stations of one town nearer to each other than this are taken as one weather, km (judgement: a town and its airports).
ONE_TOWN_KM: Final = 60.0
#: A station farther from the house than this is used no more, km; farther than half of it is said to be far (judgement).
FARTHEST_KM: Final = 300.0
EARTH_KM: Final = 6371.0
ALIKE: Final = 0.75
STATES: Final = {
    "AL": "Alabama", "AK": "Alaska", "AZ": "Arizona", "AR": "Arkansas", "CA": "California", "CO": "Colorado", "CT": "Connecticut",
    "DE": "Delaware", "DC": "District of Columbia", "FL": "Florida", "GA": "Georgia", "GU": "Guam", "HI": "Hawaii", "ID": "Idaho",
    "IL": "Illinois", "IN": "Indiana", "IA": "Iowa", "KS": "Kansas", "KY": "Kentucky", "LA": "Louisiana", "ME": "Maine",
    "MD": "Maryland", "MA": "Massachusetts", "MI": "Michigan", "MN": "Minnesota", "MS": "Mississippi", "MO": "Missouri",
    "MT": "Montana", "NE": "Nebraska", "NV": "Nevada", "NH": "New Hampshire", "NJ": "New Jersey", "NM": "New Mexico",
    "NY": "New York", "NC": "North Carolina", "ND": "North Dakota", "OH": "Ohio", "OK": "Oklahoma", "OR": "Oregon",
    "PA": "Pennsylvania", "PR": "Puerto Rico", "RI": "Rhode Island", "SC": "South Carolina", "SD": "South Dakota",
    "TN": "Tennessee", "TX": "Texas", "UT": "Utah", "VT": "Vermont", "VA": "Virginia", "VI": "Virgin Islands", "WA": "Washington",
    "WV": "West Virginia", "WI": "Wisconsin", "WY": "Wyoming",
}  # fmt: skip
_SHORT: Final = {
    "st": "saint",
    "ste": "sainte",
    "ft": "fort",
    "mt": "mount",
    "n": "north",
    "s": "south",
    "e": "east",
    "w": "west",
}
#: The capital's stations stand in the states around it.
_SEARCHED_FOR: Final = {"DC": ("DC", "VA", "MD")}


@dataclass(frozen=True)
class Found:
    """The station that stands in for a place, and the sentence that says so."""

    means: MonthlyMeans
    said: str


def distance_km(one: MonthlyMeans, latitude_deg: float, longitude_deg: float) -> float:
    """Along the great circle."""
    north, other = radians(one.latitude_deg), radians(latitude_deg)
    half = sin(0.5 * (north - other)) ** 2
    half += cos(north) * cos(other) * sin(0.5 * radians(one.longitude_deg - longitude_deg)) ** 2
    return 2.0 * EARTH_KM * asin(sqrt(min(half, 1.0)))


def station_near(known: Sequence[MonthlyMeans], place: str, latitude_deg: float, longitude_deg: float) -> Found:
    """The nearest station; raises `WeatherError` where none is within 300 km."""
    nearest = min(known, key=lambda one: distance_km(one, latitude_deg, longitude_deg))
    away = distance_km(nearest, latitude_deg, longitude_deg)
    if away > FARTHEST_KM:
        raise WeatherError(
            f"No station of the table is near {latitude_deg:g}, {longitude_deg:g}: the nearest, {nearest.place}, is {_far(away)} "
            "away; correct weather.latitude and weather.longitude (degrees, east positive) or give weather.file."
        )
    also = ", which is far for weather" if away > 0.5 * FARTHEST_KM else ""
    return Found(nearest, f"{nearest.place}, {_far(away)} away{also}, stands in for {place}.")


def station_called(known: Sequence[MonthlyMeans], station: str, place: str) -> Found:
    """A station by its number or name ("723170", "Greensboro Piedmont Triad Int, NC")."""
    wanted = _words(station.rsplit(",", 1)[0])
    state = _state(station.rsplit(",", 1)[1]) if "," in station else None
    matching = [
        one
        for one in known
        if one.station == station.strip() or (_words(one.name) == wanted and state in (None, one.state, ""))
    ]
    if len(matching) == 1:
        return Found(matching[0], f"{matching[0].place} stands in for {place}, as chosen.")
    if matching:
        raise WeatherError(
            f"weather.station {station!r} is the name of {len(matching)} stations: give the number instead, "
            f"{_listed([f'{one.station} ({one.place})' for one in matching])}."
        )
    near = _alike(station, known)
    such = f" such as {_listed(near)}" if near else ' such as "Greensboro Piedmont Triad Int, NC" or "723170"'
    raise WeatherError(f"weather.station {station!r} is not in the table: give its number or name,{such}.")


def station_for(known: Sequence[MonthlyMeans], place: str) -> Found:
    """The station whose name begins with the town's; raises `WeatherError` naming what is near where none or too many do.

    `place` is "Town, ST" or "Town, State". Places the user added are matched first, by their whole name, and need not lie
    in the United States.
    """
    own = [one for one in known if _is_own(one) and _words(one.place) == _words(place)]
    if not own:
        town, state = town_and_state(place)
        words = _words(town)
        own = [one for one in known if _is_own(one) and _words(one.name) == words and one.state == state]
    if own:
        return Found(own[0], f"{own[0].place} was found among the places you added.")
    within = _SEARCHED_FOR.get(state, (state,))
    there = [one for one in known if one.state in within and not _is_own(one)]
    matching = [one for one in there if _words(one.name)[: len(words)] == words]
    if not matching:
        inside = [one for one in there if " ".join(words) in " ".join(_words(one.name))]
        near = [one.place for one in inside] or _alike(town, there) or [one.place for one in _large(there)]
        raise WeatherError(
            f"No station of the table begins with the name of {place}: name the one to use in weather.station, such as "
            f"{_listed(near[:5])}, or give weather.latitude and weather.longitude, or weather.file."
        )
    first = _middle(matching)
    apart = max(distance_km(first, one.latitude_deg, one.longitude_deg) for one in matching)
    if apart > ONE_TOWN_KM:
        raise WeatherError(
            f"{place} may mean several stations up to {_far(apart)} apart: name the one to use in weather.station, such as "
            f"{_listed([one.place for one in matching[:6]])}."
        )
    others = [one.place for one in matching if one is not first]
    also = f"; others of that name: {_listed(others[:4])}" if others else ""
    return Found(first, f"{first.place}, found by its name, stands in for {place}{also}.")


def town_and_state(place: str) -> tuple[str, str]:
    """("Greensboro", "NC") from "Greensboro, NC" or "Greensboro, North Carolina, USA"."""
    parts = [part.strip() for part in place.split(",") if part.strip()]
    if len(parts) > 2 and parts[-1].upper().replace(".", "") in ("US", "USA", "UNITED STATES"):
        parts = parts[:-1]
    state = _state(parts[-1]) if len(parts) > 1 else None
    if state is None:
        raise WeatherError(
            f'The place "{place}" does not tell town and state, which the made-up year needs: write it like "Greensboro, NC", or '
            "give weather.file."
        )
    return parts[-2], state


def _state(text: str) -> str | None:
    short = text.strip().upper().replace(".", "")
    if short in STATES:
        return short
    return next((code for code, name in STATES.items() if name.upper() == short), None)


def _words(name: str) -> list[str]:
    """Words in small letters, without brackets and signs, shortened ones written out."""
    bare = re.sub(r"\[.*?\]|\(.*?\)", " ", name.lower()).replace("'", "")
    return [_SHORT.get(word, word) for word in re.split(r"[^a-z0-9]+", bare) if word]


def _is_own(one: MonthlyMeans) -> bool:
    return one.station.startswith("own:")


def _middle(matching: Sequence[MonthlyMeans]) -> MonthlyMeans:
    """Of a town's stations an international airport, else the one with the least summed distance to the others."""
    large = _large(matching)
    return min(large, key=lambda one: sum(distance_km(one, two.latitude_deg, two.longitude_deg) for two in matching))


def _large(known: Sequence[MonthlyMeans]) -> list[MonthlyMeans]:
    """The international airports among them, else all."""
    marks = {"intl", "international", "intercontinental"}
    return [one for one in known if marks & set(_words(one.name))] or list(known)


def _alike(text: str, known: Sequence[MonthlyMeans]) -> list[str]:
    """Names like the text, whole or by their first words, the most like first; none where nothing is."""
    wanted = " ".join(_words(text.rsplit(",", 1)[0]))
    length = max(len(wanted.split()), 1)

    def likeness(one: MonthlyMeans) -> float:
        words = _words(one.name)
        return max(
            difflib.SequenceMatcher(None, wanted, candidate).ratio()
            for candidate in (" ".join(words), " ".join(words[:length]))
        )

    ranked = sorted(((likeness(one), one.place) for one in known), reverse=True)
    return [place for alike, place in ranked[:4] if alike >= ALIKE]


def _far(km: float) -> str:
    return f"{km / 1.609344:.0f} miles ({km:.0f} km)"


def _listed(names: Sequence[str]) -> str:
    return " or ".join(names) if len(names) < 3 else f"{', '.join(names[:-1])} or {names[-1]}"
