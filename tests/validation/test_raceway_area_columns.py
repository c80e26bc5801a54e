"""NFPA 70 Chapter 9 Table 4, printed columns 60, 53, 31 and 40 percent in square inches, read in a reprint.

The printed figures are pi/4 D^2 times the percentage to three decimals, so they must be met exactly (to 1e-9).
"""

from fractions import Fraction

import pytest

from racewright.catalogue.raceways import find_raceway
from racewright.wires.wire_fill import allowed_area_in2

PRINTED = """
EMT 1/2 .182 .161 .094 .122
EMT 3/4 .320 .283 .165 .213
EMT 1 .519 .458 .268 .346
EMT 1-1/4 .897 .793 .464 .598
EMT 1-1/2 1.221 1.079 .631 .814
EMT 2 2.013 1.778 1.040 1.342
EMT 2-1/2 3.515 3.105 1.816 2.343
EMT 3 5.307 4.688 2.742 3.538
EMT 3-1/2 6.927 6.119 3.579 4.618
EMT 4 8.852 7.819 4.573 5.901
IMC 1/2 .205 .181 .106 .137
IMC 3/4 .352 .311 .182 .235
IMC 1 .575 .508 .297 .384
IMC 1-1/4 .988 .873 .510 .659
IMC 1-1/2 1.335 1.179 .690 .890
IMC 2 2.178 1.924 1.125 1.452
IMC 2-1/2 3.081 2.722 1.592 2.054
IMC 3 4.753 4.199 2.456 3.169
IMC 3-1/2 6.351 5.610 3.281 4.234
IMC 4 8.179 7.224 4.226 5.452
RMC 1/2 .188 .166 .097 .125
RMC 3/4 .329 .291 .170 .220
RMC 1 .532 .470 .275 .355
RMC 1-1/4 .916 .809 .473 .610
RMC 1-1/2 1.243 1.098 .642 .829
RMC 2 2.045 1.806 1.056 1.363
RMC 4 7.729 6.828 3.994 5.153
RMC 5 12.127 10.713 6.266 8.085
RMC 6 17.495 15.454 9.039 11.663
PVC-40 1/2 .171 .151 .088 .114
PVC-40 3/4 .305 .269 .157 .203
PVC-40 1 .499 .441 .258 .333
PVC-40 1-1/4 .872 .770 .450 .581
PVC-40 1-1/2 1.191 1.052 .616 .794
PVC-40 2 1.975 1.744 1.020 1.316
PVC-40 2-1/2 2.817 2.488 1.455 1.878
PVC-40 3 4.361 3.852 2.253 2.907
PVC-40 3-1/2 5.842 5.161 3.018 3.895
PVC-40 4 7.532 6.654 3.892 5.022
PVC-40 5 11.856 10.473 6.126 7.904
PVC-40 6 17.140 15.141 8.856 11.427
PVC-80 1/2 .130 .115 .067 .087
PVC-80 3/4 .246 .217 .127 .164
PVC-80 1 .413 .365 .213 .275
PVC-80 1-1/4 .742 .656 .383 .495
PVC-80 1-1/2 1.027 .907 .530 .684
PVC-80 2 1.725 1.523 .891 1.150
PVC-80 2-1/2 2.471 2.183 1.277 1.647
PVC-80 3 3.865 3.414 1.997 2.577
PVC-80 3-1/2 5.213 4.605 2.693 3.475
PVC-80 4 6.755 5.967 3.490 4.503
PVC-80 5 10.713 9.463 5.535 7.142
PVC-80 6 15.359 13.567 7.935 10.239
"""


@pytest.mark.parametrize("line", PRINTED.strip().splitlines())
def test_printed_columns(line: str) -> None:
    kind, size, *columns = line.split()
    raceway = find_raceway(kind, size)
    found = [float(allowed_area_in2(raceway, Fraction(percent))) for percent in (60, 53, 31, 40)]
    assert found == pytest.approx([float(text) for text in columns], abs=1e-9)
