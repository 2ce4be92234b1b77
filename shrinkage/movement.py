"""Shrinkage with moisture: strains of wood between any two moisture contents.

Sign: positive shrinks. Reference: the green dimension for `strain`, the dimension at the first
moisture for `change`. All functions broadcast over arrays.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shrinkage.species import FIBRE_SATURATION

Floats = NDArray[np.float64]


def dried_share(moisture: ArrayLike, fibre_saturation: ArrayLike = FIBRE_SATURATION) -> Floats:
    """Return the share of all shrinkage that has happened at a moisture content.

    ``f(M) = max(0, (Mfs - M) / Mfs)``, linear below fibre saturation (GTR-190 ch. 4).

    Parameters
    ----------
    moisture : array_like
        Moisture content [%], at the point in the wood.
    fibre_saturation : array_like
        Moisture content at which shrinkage starts [%].

    Returns
    -------
    ndarray
        From 0 (green) to 1 (oven-dry) [-].
    """
    m, fsp = np.asarray(moisture, float), np.asarray(fibre_saturation, float)
    return np.asarray(np.maximum(0.0, (fsp - m) / fsp))


def strain(
    shrinkage: ArrayLike, moisture: ArrayLike, fibre_saturation: ArrayLike = FIBRE_SATURATION
) -> Floats:
    """Return the shrinkage from green down to a moisture content, on the green dimension.

    Parameters
    ----------
    shrinkage : array_like
        Shrinkage from green to oven-dry in this direction [-].
    moisture, fibre_saturation : array_like
        Moisture contents [%].

    Returns
    -------
    ndarray
        Strain, positive shrinks [-].
    """
    return np.asarray(shrinkage, float) * dried_share(moisture, fibre_saturation)


def change(
    shrinkage: ArrayLike,
    moisture_from: ArrayLike,
    moisture_to: ArrayLike,
    fibre_saturation: ArrayLike = FIBRE_SATURATION,
) -> Floats:
    """Return the shrinkage between two moisture contents, on the dimension at the first.

    ``1 - (1 - s2) / (1 - s1)``: GTR-190 Eq. 13-3 for any two moisture contents, above fibre
    saturation too. Wetting gives a negative value.

    Parameters
    ----------
    shrinkage : array_like
        Shrinkage from green to oven-dry in this direction [-].
    moisture_from, moisture_to, fibre_saturation : array_like
        Moisture contents [%].

    Returns
    -------
    ndarray
        Fraction of the first dimension, positive shrinks [-].
    """
    before = strain(shrinkage, moisture_from, fibre_saturation)
    after = strain(shrinkage, moisture_to, fibre_saturation)
    return np.asarray((after - before) / (1 - before))


def coefficient(shrinkage: ArrayLike, fibre_saturation: ArrayLike = FIBRE_SATURATION) -> Floats:
    """Return the dimensional change coefficient of GTR-190 Eq. 13-2.

    The slope on the dimension at 10 %: ``C = (S / Mfs) / (1 - S (Mfs - 10) / Mfs)``; this
    reproduces Table 13-5 from Table 4-3.

    Parameters
    ----------
    shrinkage : array_like
        Shrinkage from green to oven-dry in this direction [-].
    fibre_saturation : array_like
        Moisture content at which shrinkage starts [%].

    Returns
    -------
    ndarray
        Change per percent of moisture [1/%], good from 6 to 14 %.
    """
    s, fsp = np.asarray(shrinkage, float), np.asarray(fibre_saturation, float)
    return np.asarray(s / fsp / (1 - s * (fsp - 10) / fsp))
