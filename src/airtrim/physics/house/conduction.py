"""A room and everything around it through the hours: implicit conduction, faces, panes, air, ideal heating and cooling.

    cell    C (3 T - 4 T' + T'') / (2 dt) = sum of k (T_neighbour - T) + sun        (second order, stable at any step)
    face    0 = k (T_cell - T) + h_c (T_air - T) + h_r (T_star - T) + sun
    star    0 = sum A h_r (T_face - T_star) + radiant gains
    air     C (3 T - 4 T' + T'') / (2 dt) = sum A h_c (T_face - T_air) + m c (T_out - T_air) + gains + heating - cooling

Each construction is eliminated from outside to inside, which leaves its inner face as a line in (T_air, T_star); air and star
are then two equations. Films that depend on temperature take those of the step before. Everything is SI and degC.
"""

from math import nan

import numpy as np
from numpy.typing import NDArray

from airtrim.core.kernels import kernel
from airtrim.physics.house.films import natural_film_w_m2k, radiant_film_w_m2k, wind_film_w_m2k

Array = NDArray[np.float64]
Places = NDArray[np.int64]

#: What lies outside a construction: the same room (its other face is adiabatic), weather with wind, sun and sky, outdoor air
#: through a fixed film, the ground through a fixed film.
ADIABATIC, WEATHER, OUTDOOR_AIR, GROUND = 0, 1, 2, 3
#: Columns of `faces` [construction, column].
(AREA, OUTSIDE_FILM, COS_TILT, ROUGHNESS, PERIMETER_OVER_AREA, OUTSIDE_EMITTANCE, SKY_SHARE, INSIDE_FILM, INSIDE_COS, STAR_FACTOR,
 BEAM_SHARE, DIFFUSE_SHARE, WIND_PART) = range(13)  # fmt: skip
FACE_COLUMNS = 13
#: Columns of `weather` [hour, column]: dry-bulb, sky, the station's wind, transmitted beam W, transmitted diffuse W.
DRY_BULB, SKY, WIND, BEAM, DIFFUSE = range(5)
#: Columns of `room`: air's J/K, leakage W/K, convective gain W, radiant gain W, ground degC.
AIR_CAPACITY, LEAKAGE, CONVECTIVE_GAIN, RADIANT_GAIN, GROUND_C = range(5)
#: Columns of the sums, J: heating, cooling, from outside through constructions, sun kept, by leakage, gains, stored, absolute.
HEATING, COOLING, THROUGH, SUN, LEAKED, GAINS, STORED, ABSOLUTE = range(8)


@kernel
def run_hours(
    first_hour: int,
    hours: int,
    steps_per_hour: int,
    fresh: bool,
    weather: Array,
    outer_sun: Array,
    inner_sun: Array,
    leeward: Array,
    starts: Places,
    outside: Places,
    capacity: Array,
    conductance: Array,
    faces: Array,
    room: Array,
    heating_c: Array,
    cooling_c: Array,
    temperature: Array,
    before: Array,
    result: Array,
    sums: Array,
) -> int:
    """Advance `temperature` and `before` [node..., air] by `hours` and fill `result` [hour, (air, star, heating W, cooling W)].

    Hour h of the weather ends at index h; temperatures run straight between ends, sun is the hour's mean. `outer_sun` and
    `inner_sun` [hour, construction] W/m2 are what the outermost and innermost node take directly; transmitted sun, W, is handed out
    by BEAM_SHARE and DIFFUSE_SHARE. `leeward` [hour, construction] is 1 or 0.5. `fresh`: `before` means nothing yet, so the first
    step is taken by itself (backward Euler). `heating_c` and `cooling_c` hold a day in steps
    (-inf, inf: free). Returns the steps taken.
    """
    count = starts.shape[0] - 1
    nodes = capacity.shape[0]
    all_hours = weather.shape[0]
    dt = 3600.0 / steps_per_hour
    new = np.empty(nodes + 1)
    forward = np.empty(nodes)  # T[i] = forward[i] + ratio[i] T[i + 1]
    ratio = np.empty(nodes)
    diagonal = np.empty(count)
    right = np.empty(count)
    convection = np.empty(count)
    radiation = np.empty(count)
    to_out = np.empty(count)
    out_right = np.empty(count)
    air_capacity, leakage, gain, radiant, ground = room[0], room[1], room[2], room[3], room[4]
    star = float(temperature[nodes])
    steps = 0
    for hour in range(hours):
        now = (first_hour + hour) % all_hours
        last = (now - 1 + all_hours) % all_hours
        mean_air, mean_star, mean_heating, mean_cooling = 0.0, 0.0, 0.0, 0.0
        for step in range(steps_per_hour):
            first = fresh and steps == 0
            w0, w1, w2 = (1.0, 1.0, 0.0) if first else (1.5, 2.0, 0.5)
            part = (step + 1.0) / steps_per_hour
            outdoor = weather[last, DRY_BULB] + part * (weather[now, DRY_BULB] - weather[last, DRY_BULB])
            sky = weather[last, SKY] + part * (weather[now, SKY] - weather[last, SKY])
            wind = weather[last, WIND] + part * (weather[now, WIND] - weather[last, WIND])
            beam, diffuse = weather[now, BEAM], weather[now, DIFFUSE]
            air = temperature[nodes]
            star_star, star_air, star_right = 0.0, 0.0, radiant
            air_air, air_right = leakage, leakage * outdoor + gain
            for s in range(count):
                a, z = starts[s], starts[s + 1] - 1
                # outside
                face = temperature[a]
                kind = outside[s]
                g, b = 0.0, outer_sun[now, s]
                if kind == WEATHER:
                    film = faces[s, OUTSIDE_FILM]
                    if film <= 0.0:
                        film = natural_film_w_m2k(face - outdoor, faces[s, COS_TILT]) + wind_film_w_m2k(
                            wind * faces[s, WIND_PART],
                            faces[s, ROUGHNESS],
                            faces[s, PERIMETER_OVER_AREA],
                            leeward[now, s],
                        )
                    to_sky = faces[s, SKY_SHARE] * radiant_film_w_m2k(faces[s, OUTSIDE_EMITTANCE], face, sky)
                    to_air = (1.0 - faces[s, SKY_SHARE]) * radiant_film_w_m2k(
                        faces[s, OUTSIDE_EMITTANCE], face, outdoor
                    )
                    g = film + to_air + to_sky
                    b += (film + to_air) * outdoor + to_sky * sky
                elif kind == OUTDOOR_AIR:
                    g = faces[s, OUTSIDE_FILM]
                    b += g * outdoor
                elif kind == GROUND:
                    g = faces[s, OUTSIDE_FILM]
                    b += g * ground
                to_out[s], out_right[s] = g, b
                # inside
                inner = temperature[z]
                h = faces[s, INSIDE_FILM]
                if h <= 0.0:
                    h = natural_film_w_m2k(inner - air, faces[s, INSIDE_COS])
                r = radiant_film_w_m2k(faces[s, STAR_FACTOR], inner, star)
                convection[s], radiation[s] = h, r
                inward = (
                    inner_sun[now, s]
                    + (beam * faces[s, BEAM_SHARE] + diffuse * faces[s, DIFFUSE_SHARE]) / faces[s, AREA]
                )
                # elimination towards the room
                for i in range(a, z + 1):
                    store = capacity[i] / dt
                    d = w0 * store + g
                    b += store * (w1 * temperature[i] - w2 * before[i])
                    if i < z:
                        k = conductance[i]
                        d += k
                        forward[i] = b / d
                        ratio[i] = k / d
                        g = k - k * k / d
                        b = k * forward[i]
                    else:
                        d += h + r
                        b += inward
                        diagonal[s], right[s] = d, b
                area = faces[s, AREA]
                star_star += area * r * (1.0 - r / d)
                star_air += area * r * h / d
                star_right += area * r * b / d
                air_air += area * h * (1.0 - h / d)
                air_right += area * h * b / d
            # star and air
            if star_star > 0.0:
                air_air -= star_air * star_air / star_star
                air_right += star_air * star_right / star_star
            else:
                air_right += radiant
            store = air_capacity / dt
            air_air += w0 * store
            air_right += store * (w1 * air - w2 * before[nodes])
            new_air = air_right / air_air
            place = (now % 24) * steps_per_hour + step
            power = 0.0
            if new_air < heating_c[place]:
                new_air = heating_c[place]
                power = air_air * new_air - air_right
            elif new_air > cooling_c[place]:
                new_air = cooling_c[place]
                power = air_air * new_air - air_right
            elif new_air != new_air:
                power = new_air
            last_star = star
            star = (star_air * new_air + star_right) / star_star if star_star > 0.0 else new_air
            # back to the nodes, and the books
            new[nodes] = new_air
            stored = air_capacity * (w0 * new_air - w1 * air + w2 * before[nodes])
            through, sun = 0.0, 0.0
            for s in range(count):
                a, z = starts[s], starts[s + 1] - 1
                area = faces[s, AREA]
                new[z] = (right[s] + convection[s] * new_air + radiation[s] * star) / diagonal[s]
                for i in range(z - 1, a - 1, -1):
                    new[i] = forward[i] + ratio[i] * new[i + 1]
                for i in range(a, z + 1):
                    stored += area * capacity[i] * (w0 * new[i] - w1 * temperature[i] + w2 * before[i])
                through += area * (out_right[s] - outer_sun[now, s] - to_out[s] * new[a])
                sun += area * (outer_sun[now, s] + inner_sun[now, s])
                sun += beam * faces[s, BEAM_SHARE] + diffuse * faces[s, DIFFUSE_SHARE]
            leaked = leakage * (outdoor - new_air)
            heating, cooling = max(power, 0.0), max(-power, 0.0)
            if power != power:
                heating, cooling = nan, nan
            sums[HEATING] += heating * dt
            sums[COOLING] += cooling * dt
            sums[THROUGH] += through * dt
            sums[SUN] += sun * dt
            sums[LEAKED] += leaked * dt
            sums[GAINS] += (gain + radiant) * dt
            sums[STORED] += stored
            sums[ABSOLUTE] += (heating + cooling + abs(through) + sun + abs(leaked) + gain + radiant) * dt
            mean_air += 0.5 * (air + new_air) / steps_per_hour
            mean_star += 0.5 * (last_star + star) / steps_per_hour
            mean_heating += heating / steps_per_hour
            mean_cooling += cooling / steps_per_hour
            for i in range(nodes + 1):
                before[i] = temperature[i]
                temperature[i] = new[i]
            steps += 1
        result[hour, 0], result[hour, 1], result[hour, 2], result[hour, 3] = (
            mean_air,
            mean_star,
            mean_heating,
            mean_cooling,
        )
    return steps
