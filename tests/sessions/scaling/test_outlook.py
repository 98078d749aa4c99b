import numpy as np
from scipy.stats import norm

from sessions.scaling.outlook import normal_cdf


def test_the_normal_distribution():
    z = np.linspace(-9.0, 9.0, 2001)
    np.testing.assert_allclose(normal_cdf(z), norm.cdf(z), atol=1.6e-7)
    assert normal_cdf(-np.inf) == 0.0
    assert normal_cdf(np.inf) == 1.0
