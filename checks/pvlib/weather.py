"""Reads a weather file with pvlib's own reader and prints it, for the test that compares.

Usage: weather.py KIND FILE ZONE
KIND is tmy3, tmy2, epw, epw-utc (the file's clock is UTC whatever its header says), pvgis-tmy or pvgis-hourly.
FILE may begin with `pvlib:`, which stands for pvlib's folder of shipped data.
ZONE is the whole number of hours ahead of UTC to which UTC files are turned.

First line: path of the file, latitude, longitude, zone, altitude.
Then a line for each hour: year, month, day and hour that begins (site's standard time), GHI, DNI, DHI, air, wind.
"""
import pathlib
import sys

import pandas as pd
import pvlib
from pvlib import iotools

kind, name, zone = sys.argv[1], sys.argv[2], int(sys.argv[3])
if name.startswith("pvlib:"):
    name = pathlib.Path(pvlib.__file__).parent / "data" / name.removeprefix("pvlib:")
there = f"Etc/GMT{-zone:+d}"
columns = ["ghi", "dni", "dhi", "temp_air", "wind_speed"]

if kind == "tmy3":
    data, meta = iotools.read_tmy3(name, map_variables=True)
    # The index is the end of the hour. The last of 28 February ends on 1 March in these years without 29 February, also
    # where the month comes from a leap year.
    ends = data.index
    data.index = [
        (end - pd.Timedelta(hours=1)).replace(day=28) if (end.month, end.day, end.hour) == (3, 1, 0) and end.is_leap_year
        else end - pd.Timedelta(hours=1)
        for end in ends
    ]
elif kind == "tmy2":
    data, meta = iotools.read_tmy2(name)
    data = data.rename(columns={"GHI": "ghi", "DNI": "dni", "DHI": "dhi", "DryBulb": "temp_air", "Wspd": "wind_speed"})
    data["temp_air"] = data["temp_air"] / 10
    data["wind_speed"] = data["wind_speed"] / 10
elif kind in ("epw", "epw-utc"):
    data, meta = iotools.read_epw(name)
    if kind == "epw-utc":
        data.index = data.index.tz_localize(None).tz_localize("UTC").tz_convert(there)
        meta["TZ"] = zone
elif kind == "pvgis-tmy":
    data, *rest = iotools.read_pvgis_tmy(name, map_variables=True)
    place = rest[-1]["inputs"] if isinstance(rest[-1], dict) and "inputs" in rest[-1] else rest[0]
    meta = place.get("location", place)
    data.index = data.index.tz_convert(there)
elif kind == "pvgis-hourly":
    data, meta = iotools.read_pvgis_hourly(name, map_variables=True)
    meta = meta["inputs"]
    data["ghi"] = data["poa_direct"] + data["poa_sky_diffuse"] + data["poa_ground_diffuse"]
    # The direct on the normal is not in the file.
    data["dni"] = float("nan")
    data["dhi"] = data["poa_sky_diffuse"]
    data.index = data.index.tz_convert(there)
else:
    sys.exit(f"unknown kind {kind}")

altitude = meta.get("altitude", meta.get("elevation"))
print(f"{name},{meta['latitude']},{meta['longitude']},{meta.get('TZ', zone)},{altitude}")
for when, *values in data[columns].itertuples():
    print(f"{when.year},{when.month},{when.day},{when.hour}," + ",".join(repr(float(value)) for value in values))
