"""What methane a feedstock could give at most, from the elements in it (Buswell and Mueller, Boyle)."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping

from reportgen.calc.gas import MOLAR_VOLUME

# Standard atomic weights, abridged [g/mol]; IUPAC 2021.
ATOMIC_MASS = {"C": 12.011, "H": 1.008, "O": 15.999, "N": 14.007, "S": 32.06}
ICE_POINT = 273.15  # [K]; definition of the degree Celsius
CARBOHYDRATE = "C6H10O5"  # Angelidaki and Sanders 2004; from memory
PROTEIN = "C5H7NO2"  # same; from memory
LIPID = "C57H104O6"  # same; from memory
SHARE_TOLERANCE = 0.02  # [1] shares may miss a sum of one by this; ours


def parse_formula(formula: str) -> dict[str, float]:
    """Return the number of atoms of C, H, O, N and S in a chemical formula.

    Parameters
    ----------
    formula
        For example ``"C22H34O11N"``; decimals as in ``"C17.2H29O9.8N"`` and repeated elements are allowed.

    Raises
    ------
    ValueError
        If the text is not a formula of these elements, or holds no carbon.
    """
    text = formula.strip().translate(str.maketrans("₀₁₂₃₄₅₆₇₈₉", "0123456789"))
    counts = dict.fromkeys(ATOMIC_MASS, 0.0)
    position = 0
    for match in re.finditer(r"([CHONS])(?![a-z])(\d+(?:\.\d+)?)?", text):
        if match.start() != position:
            break
        counts[match[1]] += float(match[2] or 1.0)
        position = match.end()
    if not text or position != len(text):
        seen = text[position:] or "nothing"
        raise ValueError(f"formula {formula!r}: expected C, H, O, N or S with a count, found {seen!r}")
    if counts["C"] == 0.0:
        raise ValueError(f"formula {formula!r}: holds no carbon, so it gives no methane")
    return counts


def molar_mass(counts: Mapping[str, float]) -> float:
    """Return the molar mass [g/mol] of atom counts."""
    return math.fsum(ATOMIC_MASS[element] * count for element, count in counts.items())


def theoretical_methane_yield(counts: Mapping[str, float]) -> float:
    """Return the methane a substance gives when all of it is digested.

    Parameters
    ----------
    counts
        Atoms of C, H, O, N, S as from `parse_formula` [1].

    Returns
    -------
    float
        Methane [L/kg volatile solids] at 0 degC, 101.325 kPa.

    Raises
    ------
    ValueError
        If the substance is so rich in oxygen that no methane can form.

    Notes
    -----
    CnHaObNcSd gives n/2 + a/8 - b/4 - 3c/8 - d/4 of methane. No cells grow and nothing is left over, so it is
    an upper limit.

    References
    ----------
    Buswell and Mueller 1952; Boyle 1977 for N and S.
    """
    return 1000.0 * MOLAR_VOLUME * _methane_count(counts) / molar_mass(counts)


def theoretical_methane_share(counts: Mapping[str, float]) -> float:
    """Return the share of methane in methane plus carbon dioxide [1] when all of a substance is digested.

    Notes
    -----
    All carbon leaves as either gas. Real gas is richer, as part of the carbon dioxide stays in the liquid.

    References
    ----------
    Buswell and Mueller 1952; Boyle 1977.
    """
    return _methane_count(counts) / counts["C"]


def yield_from_composition(carbohydrate: float, protein: float, lipid: float) -> float:
    """Return the theoretical methane yield of a mixture.

    Parameters
    ----------
    carbohydrate, protein, lipid
        Shares of the volatile solids by mass [1]; they sum to 1 within 0.02 and are scaled to 1.

    Returns
    -------
    float
        Methane [L/kg volatile solids] at 0 degC, 101.325 kPa.

    Raises
    ------
    ValueError
        If a share is negative or the sum is off.

    References
    ----------
    Angelidaki and Sanders 2004 for the formulas of the three groups.
    """
    shares = {CARBOHYDRATE: carbohydrate, PROTEIN: protein, LIPID: lipid}
    total = math.fsum(shares.values())
    if not min(shares.values()) >= 0.0:
        raise ValueError("shares of carbohydrate, protein and lipid must not be negative")
    if not abs(total - 1.0) <= SHARE_TOLERANCE:
        raise ValueError(f"shares of carbohydrate, protein and lipid must sum to 1, got {total:g}")
    parts = (share * theoretical_methane_yield(parse_formula(formula)) for formula, share in shares.items())
    return math.fsum(parts) / total


def methane_per_oxygen_demand(temperature: float = 0.0) -> float:
    """Return the methane per mass of chemical oxygen demand removed.

    Parameters
    ----------
    temperature
        At which the volume is stated [degC], at 101.325 kPa.

    Returns
    -------
    float
        [L/kg], dry.

    Notes
    -----
    Burning CH4 takes two O2, whatever the substance it came from.
    """
    oxygen = 4.0 * ATOMIC_MASS["O"]
    return 1000.0 * MOLAR_VOLUME * (ICE_POINT + temperature) / ICE_POINT / oxygen


def _methane_count(counts: Mapping[str, float]) -> float:
    """Return molecules of methane per formula unit."""
    methane = counts["C"] / 2.0 + counts["H"] / 8.0 - counts["O"] / 4.0 - 3.0 * counts["N"] / 8.0 - counts["S"] / 4.0
    if methane < 0.0:
        raise ValueError("the substance holds too much oxygen to give methane")
    return methane
