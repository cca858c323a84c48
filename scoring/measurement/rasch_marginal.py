"""The marginal likelihood of the Rasch model, its slope and its curvature.

For Rasch the score is sufficient: persons of one population who met the same items
and have the same score have the same likelihood but for a constant. So the work
grows with populations x forms x scores, not with persons.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit, logsumexp  # type: ignore[import-untyped]

from scoring.measurement.right_wrong import Answers, Floats, forms_of

Whole = NDArray[np.int64]

NOTHING = 1e-12
"""Part of a person that adds nothing to the curvature: all nodes left out together are then below
1e-9 of the person. A working judgement."""


class RaschMarginal:
    """Log-likelihood of item easiness, and of each population's spread and mean.

    Parameters of a point: easiness of each item (I), SD of each population (G), mean of
    each population but the first (G - 1), whose mean is 0.

    Parameters
    ----------
    read : Answers
        Items with both right and wrong answers only.
    group : ndarray of int, shape (rows,)
        Population of each row, counted from 0.
    nodes, log_weights : ndarray
        A rule of quadrature for the standard normal curve.
    """

    def __init__(self, read: Answers, group: Whole, nodes: Floats, log_weights: Floats) -> None:
        self.nodes, self.log_weights = nodes, log_weights
        self.items = len(read.items)
        self.groups = int(group.max()) + 1
        self.solved = read.counts @ read.right
        self.parts = [_Part(read.part(rows=group == one)) for one in range(self.groups)]

    def start(self) -> Floats:
        """Return a point to climb from: each item's share of right answers, spread 1."""
        asked = np.sum([part.counts @ part.forms[part.form] for part in self.parts], axis=0)
        share = self.solved / asked
        # A population of spread 1 flattens the curve by about 1.2 (Camilli G (1994), J Educ
        # Behav Stat 19:293-295, from memory: 1.7 to turn logits to normal deviates).
        return np.concatenate(
            [1.2 * np.log(share / (1 - share)), np.ones(self.groups), np.zeros(self.groups - 1)]
        )

    def roughly(self, at: Floats) -> tuple[float, Floats, Floats]:
        """Return log-likelihood and gradient exactly, and a Hessian to climb with."""
        return self.evaluate(at, rough=True)

    def evaluate(self, at: Floats, *, rough: bool = False) -> tuple[float, Floats, Floats]:
        """Return log-likelihood, gradient and Hessian."""
        size, items = len(at), self.items
        value = float(self.solved @ at[:items])
        slope, hessian = np.zeros(size), np.zeros((size, size))
        slope[:items] = self.solved
        for one, part in enumerate(self.parts):
            # The mean of the first population is no parameter; its row goes nowhere.
            where = [*range(items), items + one] + ([items + self.groups + one - 1] if one else [])
            mean = float(at[where[-1]]) if one else 0.0
            got = part.evaluate(at[:items], float(at[items + one]), mean, self, rough)
            value += got[0]
            kept = len(where)
            slope[where] += got[1][:kept]
            hessian[np.ix_(where, where)] += got[2][:kept, :kept]
        return value, slope, hessian


class _Part:
    """One population: its forms, and its persons by form and score."""

    def __init__(self, read: Answers) -> None:
        self.forms, form = forms_of(read.given)
        score = read.right.sum(axis=1).astype(np.int64)
        keys, of = np.unique(np.stack([form, score]), axis=1, return_inverse=True)
        self.form: Whole = keys[0]
        self.score: Floats = keys[1].astype(np.float64)
        self.counts: Floats = np.bincount(of.reshape(-1), weights=read.counts).astype(np.float64)

    def evaluate(
        self, easiness: Floats, spread: float, mean: float, whole: RaschMarginal, rough: bool
    ) -> tuple[float, Floats, Floats]:
        """Return value, gradient and Hessian for easiness (I), spread, mean."""
        z, items = whole.nodes, len(easiness)
        ability = mean + spread * z
        logit = easiness[:, None] + ability
        chance = expit(logit)
        expected = self.forms @ chance
        log_post = (
            self.score[:, None] * ability
            - (self.forms @ np.logaddexp(0.0, logit))[self.form]
            + whole.log_weights
        )
        each = logsumexp(log_post, axis=1)
        post = np.exp(log_post - each[:, None])
        weight = self.counts[:, None] * post
        by_form = np.zeros((len(self.forms), len(z)))
        np.add.at(by_form, self.form, weight)
        persons = self.forms.T @ by_form
        ahead = self.score[:, None] - expected[self.form]
        slope = np.empty(items + 2)
        slope[:items] = -(persons * chance).sum(axis=1)
        slope[items] = float((weight * ahead * z).sum())
        slope[items + 1] = float((weight * ahead).sum())
        hessian = np.zeros((items + 2, items + 2))
        curve = persons * chance * (1 - chance)
        hessian[np.arange(items), np.arange(items)] = -curve.sum(axis=1)
        hessian[:items, items] = -curve @ z
        hessian[:items, items + 1] = -curve.sum(axis=1)
        hessian[items, items] = -float(curve.sum(axis=0) @ z**2)
        hessian[items, items + 1] = -float(curve.sum(axis=0) @ z)
        hessian[items + 1, items + 1] = -float(curve.sum())
        # Louis's identity (1982, J R Stat Soc B 44:226-233, from memory): add the variance of
        # the complete data's slope over each person's curve.
        off_spread = ahead * z - (post * ahead * z).sum(axis=1)[:, None]
        off_mean = ahead - (post * ahead).sum(axis=1)[:, None]
        for column, off in ((items, off_spread), (items + 1, off_mean)):
            drift = np.zeros_like(by_form)
            np.add.at(drift, self.form, weight * off)
            hessian[:items, column] -= ((self.forms.T @ drift) * chance).sum(axis=1)
        hessian[items, items] += float((weight * off_spread**2).sum())
        hessian[items, items + 1] += float((weight * off_spread * off_mean).sum())
        hessian[items + 1, items + 1] += float((weight * off_mean**2).sum())
        hessian = hessian + np.triu(hessian, 1).T
        if rough and len(self.forms) > len(z):
            # Chances move with ability nearly in a straight line over one person's curve.
            middle = post @ ability
            width = np.sqrt(self.counts * np.maximum(post @ ability**2 - middle**2, 0.0))
            near = expit(easiness + middle[:, None])
            moved = near * (1 - near) * self.forms[self.form] * width[:, None]
            hessian[:items, :items] += moved.T @ moved
            return float(self.counts @ each), slope, hessian
        usual = (post @ chance.T) * self.forms[self.form]
        hessian[:items, :items] += self._together(by_form, chance)
        hessian[:items, :items] -= usual.T @ (self.counts[:, None] * usual)
        return float(self.counts @ each), slope, hessian

    def _together(self, by_form: Floats, chance: Floats) -> Floats:
        """Sum over persons of the products of two items' chances, over their curves."""
        items, points = chance.shape
        total = np.zeros((items, items))
        if len(self.forms) <= points:
            for form, weight in zip(self.forms, by_form, strict=True):
                met = np.flatnonzero(form)
                total[np.ix_(met, met)] += (chance[met] * weight) @ chance[met].T
            return total
        for at in range(points):
            # Each person's curve is narrow: most forms have nothing at this node.
            here = np.flatnonzero(by_form[:, at] > NOTHING)
            forms = self.forms[here]
            both = forms.T @ (by_form[here, at, None] * forms)
            total += both * np.outer(chance[:, at], chance[:, at])
        return total
