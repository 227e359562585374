"""Sizes, strips and sums against what is not ours."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.cluster.vq import kmeans2

from strapwork.stock import bodies
from strapwork.stock.bodies import Counts
from strapwork.workshop import sizes

# Worked out from the public file of the 2012 US Army survey (ANSUR II; C. C. Gordon and others, Natick/TR-15/007,
# 2014): mean, standard deviation, 5th, 50th and 95th percentile in mm.
PUBLISHED = {
    ("wrist", "men"): (175.9, 9.0, 162, 176, 191),
    ("wrist", "women"): (154.8, 7.8, 142, 154, 168),
    ("head", "men"): (574.4, 16.0, 548, 574, 601),
    ("head", "women"): (561.1, 19.4, 532, 560, 597),
    ("waist", "men"): (940.6, 111.7, 768, 937, 1131),
    ("waist", "women"): (860.9, 99.9, 710, 852, 1040),
}
GIRTHS = ("wrist", "head", "waist", "neck", "ankle")


def people(girth: str, sex: str) -> np.ndarray:
    """The girth of every person measured, one number each."""
    counts: Counts = getattr(bodies.find("adults", "test").girths[girth], sex)
    return np.repeat(counts.first + np.arange(len(counts.people)), counts.people)


@pytest.mark.parametrize(("girth", "sex"), PUBLISHED)
def test_the_girths_are_those_of_the_survey(girth: str, sex: str) -> None:
    mm = people(girth, sex)
    mean, deviation, *percentiles = PUBLISHED[girth, sex]
    assert len(mm) == {"women": 1986, "men": 4082}[sex]
    assert round(float(mm.mean()), 1) == mean
    assert round(float(mm.std(ddof=1)), 1) == deviation
    assert [round(float(p)) for p in np.percentile(mm, (5, 50, 95))] == percentiles


@pytest.mark.parametrize("girth", GIRTHS)
@pytest.mark.parametrize("women_twice", [False, True])
def test_sizes_are_never_worse_than_k_means(girth: str, women_twice: bool) -> None:
    # k-means of scipy.cluster.vq on the girth of every person, from four beginnings each.
    women, men = people(girth, "women"), people(girth, "men")
    everyone = np.concatenate((women, women, men) if women_twice else (women, men)).astype(float)
    share = 1.0 - len(men) / len(everyone)
    spread = bodies.spread(bodies.find("adults", "test"), girth, share)

    def mean_square(centres: np.ndarray) -> float:
        return float((np.abs(everyone[:, None] - centres[None, :]).min(axis=1) ** 2).mean())

    for of in (3, 5, 8):
        ours = mean_square(np.array([s.mm for s in sizes.best_sizes(spread, of).sizes]))
        for seed in range(4):
            centres, _ = kmeans2(everyone[:, None], of, iter=60, minit="++", rng=seed)
            assert ours <= mean_square(centres.ravel()) + 1e-9
