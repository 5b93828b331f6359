"""Makes the climate grids that the crate `energy` compiles in, from three packages of open data.

    python3 -m venv v && v/bin/pip install numpy==2.4.6 scipy==1.17.1
    v/bin/pip download --no-deps gsee-climate-data==1.0.0 iris-sample-data==2.5.2
    apt-get download ferret-datasets=7.6.0-5 && dpkg -x ferret-datasets_7.6.0-5_all.deb ferret
    v/bin/python make_climate.py WHERE-THOSE-LIE ../../crates/energy/data

The README of the data folder names licences, citations and the layout of the two files.
"""

import glob
import hashlib
import struct
import sys
import zipfile

import numpy as np
from scipy.io import netcdf_file
from scipy.ndimage import gaussian_filter

SHA256 = {
    "gsee_climate_data-1.0.0-py3-none-any.whl": "fc5036080d7993542c7fda4652a0541262fb4c638d4f9257bdae26e2e2f35176",
    "iris_sample_data-2.5.2-py3-none-any.whl": "39d45283bf9e7bff6067bffa635fa189b6c4dd47608840d087bfa639399f4656",
    "ferret-datasets_7.6.0-5_all.deb": "e5770222647ebfe2ab77b845e07a7e05cb6fed7b12dec9ae287a1f8046031744",
}
DAYS_OF_MONTH = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]
# Middle of each month in radians of the year.
MID_MONTH = 2 * np.pi * (np.cumsum(DAYS_OF_MONTH) - np.array(DAYS_OF_MONTH) / 2) / 365


def extraterrestrial_by_day(latitude):
    """Daily mean irradiance on a horizontal plane above the air [W/m2]; Spencer 1971, solar constant 1366.1."""
    g = 2 * np.pi * np.arange(365) / 365
    declination = (0.006918 - 0.399912 * np.cos(g) + 0.070257 * np.sin(g) - 0.006758 * np.cos(2 * g)
                   + 0.000907 * np.sin(2 * g) - 0.002697 * np.cos(3 * g) + 0.00148 * np.sin(3 * g))
    distance = (1.00011 + 0.034221 * np.cos(g) + 0.00128 * np.sin(g)
                + 0.000719 * np.cos(2 * g) + 0.000077 * np.sin(2 * g))
    phi = np.radians(latitude)
    sunset = np.arccos(np.clip(-np.tan(phi) * np.tan(declination), -1, 1))
    return np.maximum(1366.1 * distance / np.pi * (sunset * np.sin(phi) * np.sin(declination)
                                                  + np.cos(phi) * np.cos(declination) * np.sin(sunset)), 0)


def fill(grid):
    """Empty cells take the mean of the filled cells around them, ring by ring; the grid closes in longitude."""
    grid = grid.copy()
    while np.isnan(grid).any():
        rows = np.pad(grid, ((1, 1), (0, 0)), constant_values=np.nan)
        around = np.stack([np.roll(rows, (dy, dx), (0, 1))[1:-1] for dy in (-1, 0, 1) for dx in (-1, 0, 1)])
        count = (~np.isnan(around)).sum(0)
        mean = np.where(count > 0, np.nansum(around, 0) / np.maximum(count, 1), np.nan)
        grid = np.where(np.isnan(grid), mean, grid)
    return grid


def sun(folder):
    """Mean and spread of daily clearness on the 3 degree grid, [lat, lon, month]."""
    with zipfile.ZipFile(glob.glob(f"{folder}/gsee_climate_data-*.whl")[0]) as wheel:
        with wheel.open("gsee_climate_data/data/merra2_rad3x3_2011-2015_pdfs_land_prox.npz") as file:
            data = np.load(file)
            value, weight, latitudes = data["xk"].astype(float), data["pk"].astype(float), data["lat"]
    total = weight.sum(-1)
    first = (value * weight).sum(-1) / total
    second = (value**2 * weight).sum(-1) / total
    months = np.repeat(np.arange(12), DAYS_OF_MONTH)
    mean, spread = np.full(first.shape, np.nan), np.full(first.shape, np.nan)
    for row, latitude in enumerate(latitudes):
        daily = extraterrestrial_by_day(latitude)
        for month in range(12):
            above = daily[months == month]
            # With less light than this the ratio says nothing; the months around it stand in.
            if above.mean() < 8:
                continue
            # The day's light above the air moves within a month; the moments divide it out (clearness independent of date).
            k1 = first[row, :, month] / above.mean()
            k2 = second[row, :, month] / (above**2).mean()
            mean[row, :, month] = k1
            spread[row, :, month] = np.sqrt(np.maximum(k2 - k1**2, 1e-4))
    for grid in (mean, spread):
        for row in range(len(latitudes)):
            lit = [m for m in range(12) if not np.isnan(grid[row, :, m]).all()]
            for month in range(12):
                if month not in lit:
                    near = sorted(lit, key=lambda m: min((m - month) % 12, (month - m) % 12))[:2]
                    grid[row, :, month] = np.nanmean([grid[row, :, m] for m in near], axis=0)
        for month in range(12):
            grid[:, :, month] = fill(grid[:, :, month])
    return mean, spread


def pp_fields(data):
    """Fields of a UM PP file: (month, values [lat from south, lon from 0 east])."""
    at = 0
    while at < len(data):
        whole = struct.unpack(">45i", data[at + 4:at + 184])
        real = struct.unpack(">19f", data[at + 184:at + 260])
        at += struct.unpack(">i", data[at:at + 4])[0] + 8
        size = struct.unpack(">i", data[at:at + 4])[0]
        rows, points = whole[17], whole[18]
        values = np.frombuffer(data[at + 4:at + 4 + 4 * rows * points], ">f4").reshape(rows, points).astype(float)
        at += size + 8
        latitudes = real[13] + real[14] * np.arange(1, rows + 1)
        longitudes = real[15] + real[16] * np.arange(1, points + 1)
        yield whole[1], latitudes, longitudes, values


LATITUDES = np.arange(-89, 90, 2.0)
LONGITUDES = np.arange(-179, 180, 2.0)


def regrid(latitudes, longitudes, values):
    """Bilinear onto the 2 degree grid."""
    x = np.concatenate([longitudes, [longitudes[0] + 360]])
    values = np.concatenate([values, values[:, :1]], axis=1)
    along = np.stack([np.interp(LONGITUDES % 360, x, row, period=None) if longitudes[0] <= 0 else
                      np.interp((LONGITUDES - longitudes[0]) % 360 + longitudes[0], x, row) for row in values])
    return np.stack([np.interp(LATITUDES, latitudes, along[:, c]) for c in range(along.shape[1])], axis=1)


def air(folder):
    """Annual mean air temperature and its yearly wave (cosine, sine) [K]."""
    with zipfile.ZipFile(glob.glob(f"{folder}/iris_sample_data-*.whl")[0]) as wheel:
        read = lambda name: list(pp_fields(wheel.read("iris_sample_data/sample_data/" + name)))
        (_, lat, lon, before), = read("pre-industrial.pp")
        (_, _, _, after), = read("A1B.2098.pp")
        names = sorted(name for name in wheel.namelist() if "/GloSea4/" in name)
        members = [list(pp_fields(wheel.read(name))) for name in names]
    area = np.cos(np.radians(lat))[:, None] * np.ones_like(before)
    warming = (area * (after - before)).sum() / area.sum()
    # Pattern scaling to 1.1 K over pre-industrial, the global mean of 2011-2020 (IPCC AR6 WG1 SPM A.1.2: 1.09 K).
    annual = before + (after - before) * 1.1 / warming - 273.15
    print(f"global warming between the two fields {warming:.2f} K; share taken {1.1 / warming:.3f}")
    months = [m for m, *_ in members[0]]
    surface = np.stack([np.mean([member[i][3] for member in members], axis=0) for i in range(len(months))]) - 273.15
    # Six months, August to January, fix the yearly wave; the offset to the annual mean is held to a few kelvin.
    angle = MID_MONTH[np.array(months) - 1]
    a = np.column_stack([np.cos(angle), np.sin(angle), np.ones(len(angle))])
    hold = np.diag([0, 0, 1 / HOLD_K**2])
    wave = np.einsum("ij,jyx->iyx", np.linalg.inv(a.T @ a + hold) @ a.T, surface - annual)
    print("months", months, "offset of surface to air", np.percentile(wave[2], [5, 50, 95]).round(2))
    return [regrid(lat, lon, v) for v in (annual, wave[0], wave[1])]


def ashore(wave, share):
    """The yearly wave as on land: near a coast the sea's late and flat wave gives way to that of the land beside it.

    The wave is of the ground's temperature; the air's is GROUND_TO_AIR of it (from the four sample places).
    """
    inland = fill(np.where(share > 0.5, wave * GROUND_TO_AIR, np.nan))
    return share * inland + (1 - share) * wave


HOLD_K = 1.5
GROUND_TO_AIR = 0.92


def sea(folder):
    """Altitude of land [m], share of land, and 10 m wind with its yearly wave [m/s]."""
    base = f"{folder}/ferret/usr/share/ferret-vis/data/"
    relief = netcdf_file(base + "etopo20.cdf", mmap=False).variables
    name = [k for k in relief if relief[k].data.ndim == 2][0]
    y, x = (relief[d].data.astype(float) for d in relief[name].dimensions)
    height = relief[name].data.astype(float)
    row = np.clip(((y + 90) / 2).astype(int), 0, 89)
    column = ((((x + 180) % 360) / 2).astype(int)) % 180
    area, land, metres = (np.zeros((90, 180)) for _ in range(3))
    r, c = np.meshgrid(row, column, indexing="ij")
    np.add.at(area, (r, c), 1)
    np.add.at(land, (r, c), height > 0)
    np.add.at(metres, (r, c), np.maximum(height, 0))
    share = land / area
    altitude = np.where(land > 0, metres / np.maximum(land, 1), 0)
    ships = netcdf_file(base + "coads_climatology.cdf", mmap=False).variables
    speed = ships["WSPD"].data.astype(float)
    speed[(speed < 0) | (speed > 40)] = np.nan
    lon = ships["COADSX"].data
    order = np.argsort((lon + 180) % 360)
    assert np.allclose(((lon[order] + 180) % 360) - 180, LONGITUDES) and np.allclose(ships["COADSY"].data, LATITUDES)
    speed = speed[:, :, order]
    known = ~np.isnan(speed)
    # Open water from ships, smoothed; inland the wind falls to WIND_INLAND within a few hundred kilometres.
    smooth = lambda grid: gaussian_filter(grid, 1.0, mode=("nearest", "wrap"))
    wind = np.empty((12, 90, 180))
    for month in range(12):
        weight = smooth(known[month].astype(float))
        field = smooth(np.where(known[month], speed[month], 0)) / np.maximum(weight, 1e-6)
        near = np.clip(weight, 0, 1) * (1 - 0.3 * share)
        wind[month] = near * np.where(weight > 1e-3, WIND_ASHORE * field, 0) + (1 - near) * WIND_INLAND
    basis = np.column_stack([np.ones(12), np.cos(MID_MONTH), np.sin(MID_MONTH)])
    wave = np.einsum("ij,jyx->iyx", np.linalg.pinv(basis), wind)
    return altitude, share, wave


# Common practice, no source; both near the four sample places.
WIND_INLAND = 2.5
WIND_ASHORE = 0.65


def check(folder):
    for name, want in SHA256.items():
        found = hashlib.sha256(open(f"{folder}/{name}", "rb").read()).hexdigest()
        if found != want:
            sys.exit(f"{name}: sha256 {found}, expected {want}; the grids would no longer be those described")


def main(folder, out):
    check(folder)
    mean, spread = sun(folder)
    byte = lambda v, step, low=0: np.clip(np.round((v - low) / step), 0, 255).astype(np.uint8)
    signed = lambda v, step: np.clip(np.round(v / step), -127, 127).astype(np.int8).view(np.uint8)
    np.stack([byte(mean, 0.004), byte(spread, 0.002)], -1).tofile(f"{out}/climate-sun.bin")
    annual, cosine, sine = air(folder)
    altitude, share, wind = sea(folder)
    cosine, sine = ashore(cosine, share), ashore(sine, share)
    np.stack([byte(annual, 0.4, -60), signed(cosine, 0.25), signed(sine, 0.25), byte(altitude, 25),
              byte(share, 1 / 255), byte(wind[0], 0.1), signed(wind[1], 0.1), signed(wind[2], 0.1)],
             -1).tofile(f"{out}/climate-air.bin")


if __name__ == "__main__":
    main(*sys.argv[1:])
