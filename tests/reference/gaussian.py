"""A linear model with normal noise and a normal prior, all builds stacked: the textbook update with the gain matrix."""

import json
import sys

import numpy as np
from scipy.linalg import block_diag
from scipy.stats import chi2

question = json.load(sys.stdin)
mean = np.array(question["mean"])
covariance = np.array(question["covariance"])
builds = question["builds"]
jacobian = np.vstack([np.array(build["jacobian"]) for build in builds])
read = np.concatenate([np.array(build["read"]) for build in builds])
noise = block_diag(*[np.array(build["noise"]) for build in builds])

expected = jacobian @ covariance @ jacobian.T + noise
gain = covariance @ jacobian.T @ np.linalg.inv(expected)
json.dump(
    {
        "mean": list(mean + gain @ (read - jacobian @ mean)),
        "covariance": (covariance - gain @ jacobian @ covariance).tolist(),
        "chi2_999": [chi2.ppf(0.999, n) for n in range(1, 31)],
    },
    sys.stdout,
)
