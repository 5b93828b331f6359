"""How far the built-in turbidity (crates/energy/src/climate/grid.rs, `linke`) lies from the world map that pvlib ships.

    python3 -m venv v && v/bin/pip install numpy==2.4.6 h5py==3.16.0 pvlib==0.16.1
    v/bin/python linke.py ../../crates/energy/data/climate-air.bin

The map is looked at here and copied nowhere: its licence is not clear. Prints bias and root mean square over land.
"""

import pathlib
import sys

import h5py
import numpy as np
import pvlib

STRIDE = 24  # of the map's 1/12 degree cells: every 2 degrees


def main(grid):
    file = pathlib.Path(pvlib.__file__).parent / "data" / "LinkeTurbidities.h5"
    half = STRIDE // 4
    turbidity = h5py.File(file)["LinkeTurbidity"][half::STRIDE, half::STRIDE, :].astype(float) / 20
    latitudes = 90 - (np.arange(turbidity.shape[0]) * STRIDE + half + 0.5) / 12
    longitudes = -180 + (np.arange(turbidity.shape[1]) * STRIDE + half + 0.5) / 12
    share = np.fromfile(grid, np.uint8).reshape(90, 180, 8)[..., 4]
    rows = np.minimum(((latitudes + 90) / 2).astype(int), 89)
    columns = ((longitudes + 180) % 360 / 2).astype(int)
    land = (share[np.ix_(rows, columns)] > 127) & (latitudes[:, None] < 72) & (latitudes[:, None] > -57)
    days = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
    angle = 2 * np.pi * (np.cumsum(days) - days / 2) / 365
    season = np.where(latitudes < 0, -1, 1) * np.minimum(np.abs(latitudes) / 25, 1)
    winter = season[:, None] * np.cos(angle - 2 * np.pi * 20 / 365)
    model = 2.2 + 1.8 * np.cos(np.radians(latitudes))[:, None] ** 2 - 0.5 * winter
    error = (model[:, None, :] - turbidity)[land]
    print(f"{land.sum()} cells of land: bias {error.mean():+.2f}, root mean square {np.sqrt((error ** 2).mean()):.2f}")


if __name__ == "__main__":
    main(*sys.argv[1:])
