"""What pvlib says, for the tests and benches of the crate `energy`.

Reads a request as JSON from standard input and writes the answer as JSON to standard output:
    python answers.py sun | plane | time
Hours count as in `energy`: 8760 of a year without 29 February, hour-beginning, standard time `zone` hours ahead of UTC;
the sun is taken at the middle of each hour, or at `minutes` into it. Angles in degrees, irradiance in W/m2, azimuth from north clockwise.
Never: computes anything that pvlib has a function for.
"""

import json
import sys
import time
import warnings
from pathlib import Path

import numpy as np
import pandas as pd
import pvlib
from pvlib import atmosphere, clearsky, iam, iotools, irradiance, pvarray, solarposition, temperature

MODELS = {"isotropic": "isotropic", "hay_davies": "haydavies", "perez": "perez"}


def hours(year, zone, minutes=30.0):
    """An instant in each hour, usually its middle, in local time and in UTC."""
    local = pd.date_range(f"{year}-01-01 00:00", f"{year}-12-31 23:00", freq="h")
    local = local[~((local.month == 2) & (local.day == 29))] + pd.to_timedelta(minutes, "min")
    return local, (local - pd.to_timedelta(zone, "h")).tz_localize("UTC")


def sky(site, year):
    """Sun, air and extraterrestrial radiation over a site."""
    local, utc = hours(year, site["zone"], site.get("minutes", 30.0))
    pressure = atmosphere.alt2pres(site["altitude"])
    sun = solarposition.get_solarposition(
        utc, site["latitude"], site["longitude"], site["altitude"], pressure=pressure, temperature=12, method="nrel_numpy"
    )
    relative = atmosphere.get_relative_airmass(sun.apparent_zenith)
    absolute = atmosphere.get_absolute_airmass(relative, pressure)
    extra = irradiance.get_extra_radiation(utc, method="nrel", delta_t=67.0)
    return local, sun, relative, absolute, extra


def column(values):
    """Numbers with enough digits for the tolerances, not-a-number as 0."""
    return [float(f"{value:.10g}") for value in np.nan_to_num(np.asarray(values, dtype=float))]


def answer_sun(request):
    """Sun position and clear sky at places. Turbidity is drawn between months by the day of a common year at the place,
    because pvlib's own lookup counts days in UTC and would change the turbidity in the middle of the local day."""
    places = []
    for place in request["places"]:
        local, sun, relative, absolute, extra = sky(place, place["year"])
        common = pd.DatetimeIndex([t.replace(year=2023) for t in local])
        linke = clearsky._interpolate_turbidity(np.array(request["linke"]), common.tz_localize("UTC")).to_numpy()
        clear = clearsky.ineichen(
            sun.apparent_zenith.to_numpy(), absolute.to_numpy(), linke, place["altitude"], extra.to_numpy()
        )
        places.append(
            {
                "zenith": column(sun.zenith),
                "apparent_zenith": column(sun.apparent_zenith),
                "azimuth": column(sun.azimuth),
                "extra": column(extra),
                "airmass_absolute": column(absolute),
                **{key: column(clear[key]) for key in ("ghi", "dni", "dhi")},
            }
        )
    return {"places": places}


def read_weather(path):
    """A year of a weather file as pvlib reads it: site and columns."""
    if path.suffix.lower() == ".epw":
        data, about = iotools.read_epw(path)
        site = {"zone": about["TZ"], "altitude": about["altitude"]}
    elif "tmy_" in path.name:
        data, about = iotools.read_pvgis_tmy(path, map_variables=True)[:2]
        about = about["inputs"]
        site = {"zone": 0, "altitude": about["elevation"], "minutes": 60 * about["irradiance time offset"]}
    else:
        data, about = iotools.read_tmy3(path, coerce_year=2023, map_variables=True)
        site = {"zone": about["TZ"], "altitude": about["altitude"]}
    site |= {"latitude": about["latitude"], "longitude": about["longitude"]}
    if len(data) != 8760:
        raise SystemExit(f"{path.name}: {len(data)} rows, not 8760")
    return {key: float(value) for key, value in site.items()}, data


def answer_plane(request):
    """The same weather on planes, under three skies: light, cells and power. `file` is a path or a name in pvlib's own
    data folder; rows are taken in their order as the hours of 2023."""
    named = Path(request["file"])
    path = named if named.exists() else Path(pvlib.__file__).parent / "data" / request["file"]
    site, data = read_weather(path)
    weather = {key: data[key].to_numpy(dtype=float) for key in ("ghi", "dni", "dhi", "temp_air", "wind_speed")}
    _, sun, relative, _, extra = sky(site, 2023)
    zenith, azimuth = sun.apparent_zenith.to_numpy(), sun.azimuth.to_numpy()
    planes = []
    for plane in request["planes"]:
        headings = plane["azimuths"]
        answer = {}
        for ours, theirs in MODELS.items():
            light, works = 0.0, 0.0
            for heading in headings:
                total = total_irradiance(plane, heading, zenith, azimuth, weather, extra, relative, theirs, request["albedo"])
                light = light + total[0] / len(headings)
                works = works + total[1] / len(headings)
            answer[ours] = column(light)
            if ours == "perez":
                back = temperature.TEMPERATURE_MODEL_PARAMETERS["sapm"]["insulated_back_glass_polymer"]
                cell = temperature.sapm_cell(light, weather["temp_air"], weather["wind_speed"], **back)
                answer["cell_sapm"] = column(cell)
                answer["cell_faiman"] = column(temperature.faiman(light, weather["temp_air"], weather["wind_speed"]))
                low = [request["k1"], request["k2"], 0, 0, 0, 0]
                at_25 = pvarray.huld(works, 25.0, 1.0, k=low)
                answer["power"] = column(np.maximum(at_25, 0) * (1 + request["gamma"] * (cell - 25)))
        planes.append(answer)
    return {
        "site": site,
        "apparent_zenith": column(zenith),
        "weather": {key: column(values) for key, values in weather.items()},
        "planes": planes,
    }


def total_irradiance(plane, heading, zenith, azimuth, weather, extra, relative, model, albedo):
    """Light on the plane, and what passes its glass: circumsolar light as the beam, the rest as from the even sky."""
    extra, relative = extra.to_numpy(), relative.to_numpy()
    tilt = plane["tilt"]
    total = irradiance.get_total_irradiance(
        tilt, heading, zenith, azimuth, weather["dni"], weather["ghi"], weather["dhi"],
        dni_extra=extra, airmass=relative, albedo=albedo, model=model,
    )  # fmt: skip
    if model != "perez":
        return np.nan_to_num(np.asarray(total["poa_global"])), 0.0
    parts = irradiance.perez(
        tilt, heading, weather["dhi"], weather["dni"], extra, zenith, azimuth, relative, return_components=True
    )
    parts = {key: np.nan_to_num(value) for key, value in parts.items()}
    beam = iam.martin_ruiz(irradiance.aoi(tilt, heading, zenith, azimuth))
    even = iam.martin_ruiz_diffuse(tilt, c1=4 / 3 / np.pi)
    works = (
        (np.asarray(total["poa_direct"]) + parts["poa_circumsolar"]) * beam
        + (parts["poa_isotropic"] + parts["poa_horizon"]) * float(even["sky"])
        + np.asarray(total["poa_ground_diffuse"]) * float(even["ground"])
    )
    return np.nan_to_num(np.asarray(total["poa_global"])), np.maximum(works, 0)


def answer_time(request):
    """Seconds that each step of a year takes, best of several runs, with numpy arrays wherever pvlib takes them."""
    site, tilt, heading = request["site"], request["tilt"], request["azimuth"]
    _, utc = hours(2023, site["zone"])
    steps, air, wind = {}, np.array(request["air"]), np.array(request["wind"])

    def timed(name, work):
        best = float("inf")
        for _ in range(request["repeats"]):
            start = time.perf_counter()
            result = work()
            best = min(best, time.perf_counter() - start)
        steps[name] = best
        return result

    pressure = atmosphere.alt2pres(site["altitude"])
    sun = timed("position", lambda: solarposition.get_solarposition(
        utc, site["latitude"], site["longitude"], site["altitude"], pressure=pressure, method="nrel_numpy"))  # fmt: skip
    zenith, azimuth = sun.apparent_zenith.to_numpy(), sun.azimuth.to_numpy()

    def clear():
        extra = np.asarray(irradiance.get_extra_radiation(utc, method="spencer"))
        relative = atmosphere.get_relative_airmass(zenith)
        absolute = atmosphere.get_absolute_airmass(relative, pressure)
        return extra, relative, clearsky.ineichen(zenith, absolute, 3.0, site["altitude"], extra)

    extra, relative, light = timed("clear sky", clear)
    total = timed("transposition", lambda: irradiance.get_total_irradiance(
        tilt, heading, zenith, azimuth, light["dni"], light["ghi"], light["dhi"],
        dni_extra=extra, airmass=relative, model="perez"))  # fmt: skip
    poa = np.nan_to_num(np.asarray(total["poa_global"]))
    back = temperature.TEMPERATURE_MODEL_PARAMETERS["sapm"]["insulated_back_glass_polymer"]
    cell = timed("temperature", lambda: temperature.sapm_cell(poa, air, wind, **back))
    low = [request["rated_w"] * k for k in (request["k1"], request["k2"], 0, 0, 0, 0)]
    watts = timed("power", lambda: pvarray.huld(poa, 25.0, request["rated_w"], k=low) * (1 + request["gamma"] * (cell - 25)))
    return {"steps": steps, "year_kwh": float(np.sum(watts)) / 1000}


if __name__ == "__main__":
    warnings.simplefilter("ignore")
    answers = {"sun": answer_sun, "plane": answer_plane, "time": answer_time}
    json.dump(answers[sys.argv[1]](json.load(sys.stdin)), sys.stdout)
