"""Half widths, in standard deviations, of the intervals of a normal law."""

from scipy.special import ndtri

NORMAL_95 = float(ndtri(0.975))
NORMAL_50 = float(ndtri(0.75))
