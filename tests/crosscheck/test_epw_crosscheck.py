"""Weather files against pvlib's reader: the same hours, stamps and missing codes.

pvlib leaves missing codes as numbers and fills nothing; ours are compared where nothing is missing.
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from shrinkage.epw import read_epw

iotools = pytest.importorskip("pvlib.iotools", reason="needs the crosscheck extra")


def test_same_hours_as_pvlib(tmp_path):
    rng = np.random.default_rng(1)
    header = [
        "LOCATION,Somewhere,Invented,XXX,made for a test,000000,45.00,-70.00,-5.0,100.0",
        "DESIGN CONDITIONS,0",
        "TYPICAL/EXTREME PERIODS,0",
        "GROUND TEMPERATURES,0",
        "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0",
        "COMMENTS 1,invented",
        "COMMENTS 2,none",
        "DATA PERIODS,1,1,Data,Monday, 1/ 1,12/31",
    ]
    temp, rh = rng.uniform(-30, 40, 8760).round(1), rng.integers(5, 101, 8760)
    rest = ",".join(["0"] * 26)
    stamps = np.arange("2019-01-01", "2020-01-01", dtype="datetime64[h]").astype(object)
    rows = [
        f"2019,{at.month},{at.day},{at.hour + 1},0,?9,{t},{t - 5:.1f},{h},{rest}"
        for at, t, h in zip(stamps, temp, rh, strict=True)
    ]
    path = tmp_path / "a.epw"
    path.write_text("\n".join([*header, *rows]))
    ours, (theirs, place) = read_epw(path).hours, iotools.read_epw(path)
    assert_allclose(ours["temp_C"], theirs["temp_air"], rtol=1e-12)
    assert_allclose(ours["rh_percent"], theirs["relative_humidity"], rtol=1e-12)
    assert (ours.index == theirs.index.tz_localize(None)).all()
    assert place["city"] == "Somewhere"
