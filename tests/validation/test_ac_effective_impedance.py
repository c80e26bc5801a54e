"""NFPA 70 Chapter 9 Table 9, printed columns of effective Z at power factor 0.85, ohm per 1000 ft, read in two reprints
(of the 2008 edition, unchanged since as far as is known): what the table's own R and X must give by its Note 2.

Tolerance: half the last printed digit of Z and, carried through, of R and X. The two reprints differ in 6 AWG (0.44 or
0.45 in aluminum raceway, 0.71 or 0.72 for aluminum wire); both lie within it.
"""

import pytest

from racewright.codebook.edition import DEFAULT_EDITION, load_edition
from racewright.wires.impedance import Circuit, impedance_of

EDITION = load_edition(DEFAULT_EDITION)
# size, copper in PVC, aluminum, steel; aluminum in PVC, aluminum, steel
PRINTED = """
14 2.7 2.7 2.7 - - -
12 1.7 1.7 1.7 2.8 2.8 2.8
10 1.1 1.1 1.1 1.8 1.8 1.8
8 0.69 0.69 0.70 1.1 1.1 1.1
6 0.44 0.45 0.45 0.71 0.72 0.72
4 0.29 0.29 0.30 0.46 0.46 0.46
3 0.23 0.24 0.24 0.37 0.37 0.37
2 0.19 0.19 0.20 0.30 0.30 0.30
1 0.16 0.16 0.16 0.24 0.24 0.25
1/0 0.13 0.13 0.13 0.19 0.20 0.20
2/0 0.11 0.11 0.11 0.16 0.16 0.16
3/0 0.088 0.092 0.094 0.13 0.13 0.14
4/0 0.074 0.078 0.080 0.11 0.11 0.11
250 0.066 0.070 0.073 0.094 0.098 0.100
300 0.059 0.063 0.065 0.082 0.086 0.088
350 0.053 0.058 0.060 0.073 0.077 0.080
400 0.049 0.053 0.056 0.066 0.071 0.073
500 0.043 0.048 0.050 0.057 0.061 0.064
600 0.040 0.044 0.047 0.051 0.055 0.058
750 0.036 0.040 0.043 0.045 0.049 0.052
1000 0.032 0.036 0.040 0.039 0.042 0.046
"""
COLUMNS = [(metal, raceway) for metal in ("copper", "aluminum") for raceway in ("pvc", "aluminum", "steel")]


def digit(text: str) -> float:
    return 10.0 ** -len(text.partition(".")[2])


@pytest.mark.parametrize("line", PRINTED.strip().splitlines())
def test_effective_z_at_085(line: str) -> None:
    size, *printed = line.split()
    row = EDITION.find("ac_resistance", "size", size)
    for (metal, raceway), text in zip(COLUMNS, printed, strict=True):
        if text == "-":
            continue
        # R is printed to as many digits as Z at least (trailing zeros are not stored); X to 0.001.
        slack = 0.5 * digit(text) + 0.85 * 0.5 * digit(text) + 0.527 * 0.0005
        z = impedance_of(size, metal, Circuit(1, 1, 1, power_factor=0.85, raceway=raceway), EDITION)
        assert z.effective == pytest.approx(float(text), abs=slack), (metal, raceway, row.cells)
