"""The arithmetic of the ranking against published and hand-worked examples, and against full enumeration."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from logan.ranking.next_checks import entropy, expected_gain, expected_minutes
from logan.ranking.weigh import Piece, posterior

NEVER = 1e-300


def piece(likelihood: list[float]) -> Piece:
    """Evidence with P(e | no fault), then P(e | each suspect); "something else" predicts as no fault does."""
    weight = [math.log10(p / likelihood[0]) for p in likelihood[1:]]
    return Piece("measure", "m", "g", np.array([*weight, 0.0]), {})


def test_bayes_in_odds() -> None:
    # prior 0.20, likelihood ratio 6 -> 0.600 (exact arithmetic, worked by hand: 0.25 * 6 = 1.5 to 1)
    share, none, _ = posterior(np.array([0.2]), 0.8, NEVER, [piece([0.1, 0.6])], 0.5)
    assert share[0] == pytest.approx(0.6, abs=1e-9)
    assert none == pytest.approx(0.4, abs=1e-9)


def test_naive_bayes_of_three() -> None:
    # priors .5 .3 .2; P(e1) = .8 .2 .1, P(e2) = .9 .5 .3 -> .9091 .0758 .0152 (exact arithmetic, worked by hand)
    share, none, _ = posterior(np.array([0.3, 0.2]), 0.5, NEVER, [piece([0.8, 0.2, 0.1]), piece([0.9, 0.5, 0.3])], 0.5)
    assert [none, *share] == pytest.approx([0.9091, 0.0758, 0.0152], abs=1e-4)


def noisy_or(leak: float, causes: list[float], present: tuple[int, ...]) -> float:
    """P(effect | causes present) of a noisy-OR gate."""
    return 1.0 - (1.0 - leak) * math.prod(1.0 - p for p, on in zip(causes, present, strict=True) if on)


def test_noisy_or_network_against_full_enumeration() -> None:
    """Two faults, two effects by noisy-OR gates: posterior by summing the whole joint distribution, one fault at most.

    The first gate is the published one (help page of a Bayesian network program on the noisy-OR distribution:
    leak 0.1, 0.2 and 0.4, both present: 0.568).
    """
    gates = [(0.1, [0.2, 0.4]), (0.05, [0.7, 0.01])]
    assert noisy_or(*gates[0], (1, 1)) == pytest.approx(0.568, abs=1e-9)
    prior = {(0, 0): 0.7, (1, 0): 0.2, (0, 1): 0.1}
    for seen in itertools.product((0, 1), repeat=2):
        joint = dict.fromkeys(prior, 0.0)
        for state, effects in itertools.product(prior, itertools.product((0, 1), repeat=2)):
            p = prior[state]
            for gate, effect in zip(gates, effects, strict=True):
                on = noisy_or(*gate, state)
                p *= on if effect else 1.0 - on
            if effects == seen:
                joint[state] += p
        want = {state: p / sum(joint.values()) for state, p in joint.items()}
        pieces = []
        for gate, effect in zip(gates, seen, strict=True):
            on = [noisy_or(*gate, state) for state in ((0, 0), (1, 0), (0, 1))]
            pieces.append(piece(on if effect else [1.0 - p for p in on]))
        share, none, _ = posterior(np.array([0.2, 0.1]), 0.7, NEVER, pieces, 0.5)
        assert [none, *share] == pytest.approx([want[(0, 0)], want[(1, 0)], want[(0, 1)]], abs=1e-12)


def test_unknown_faults_that_show_in_nothing_are_not_ruled_out() -> None:
    """Many normal readings: half of "something else" stays, by enumeration of hidden and shown."""
    normal = Piece("measure", "m", "g", np.array([-1.0]), {})
    _, none, other = posterior(np.array([]), 0.9, 0.1, [normal] * 3, 0.5)
    want = np.array([0.9, 0.1 * (0.5 * 1e-3 + 0.5)])
    assert [none, other] == pytest.approx(want / want.sum(), abs=1e-12)


def test_expected_information_of_a_check() -> None:
    # prior .5 .25 .25, P(+) = .9 .2 .1 -> entropy 1.5 bit, gain 0.4660 bit (exact arithmetic, worked by hand)
    prior = np.array([0.5, 0.25, 0.25])
    assert entropy(prior) == pytest.approx(1.5)
    assert expected_gain(prior, np.array([0.9, 0.2, 0.1])) == pytest.approx(0.4660, abs=1e-4)
    assert expected_gain(prior, np.array([0.3, 0.3, 0.3])) == pytest.approx(0.0, abs=1e-12)


def test_expected_cost_of_a_sequence_of_checks() -> None:
    """Published rule: ascending cost to probability is best (decision-theoretic troubleshooting, Heckerman, Breese and
    Rommelse 1995); the example p = .4 .3 .2 .1, cost 60 10 20 5 costs 72.5 as listed and 49.5 by the rule."""
    p, cost = np.array([0.4, 0.3, 0.2, 0.1]), np.array([60.0, 10.0, 20.0, 5.0])
    each = np.eye(4)

    def spent(order: list[int]) -> float:
        return expected_minutes(cost[order], each[order], p)

    assert spent([0, 1, 2, 3]) == pytest.approx(72.5)
    rule = np.argsort(cost / p).tolist()
    assert rule == [1, 3, 2, 0]
    assert spent(rule) == pytest.approx(49.5)
    assert min(spent(list(order)) for order in itertools.permutations(range(4))) == pytest.approx(49.5)


def test_posterior_and_gain_against_a_bayesian_network_library() -> None:
    """One hypothesis with four states, three findings, one check: exact inference by a general library."""
    gum = pytest.importorskip("pyagrum", reason="pip install pyagrum")
    prior = [0.6, 0.25, 0.1, 0.05]
    given = [[0.05, 0.7, 0.3, 0.2], [0.1, 0.15, 0.8, 0.3], [0.02, 0.4, 0.4, 0.1]]  # P(seen | state) of each finding
    confirms = [0.03, 0.9, 0.2, 0.05]
    net = gum.BayesNet("faults")
    net.add(gum.LabelizedVariable("h", "hypothesis", 4))
    net.cpt("h").fillWith(prior)
    for name, chances in [("a", given[0]), ("b", given[1]), ("c", given[2]), ("check", confirms)]:
        net.add(gum.LabelizedVariable(name, name, 2))
        net.addArc("h", name)
        for state, chance in enumerate(chances):
            net.cpt(name)[{"h": state}] = [1.0 - chance, chance]
    for seen in itertools.product((0, 1), repeat=3):
        exact = gum.LazyPropagation(net)
        exact.setEvidence(dict(zip("abc", seen, strict=True)))
        exact.addJointTarget({"h", "check"})
        exact.makeInference()
        want = exact.posterior("h").toarray()
        pieces = [
            piece([chance if on else 1.0 - chance for chance in chances])
            for on, chances in zip(seen, given, strict=True)
        ]
        share, none, _ = posterior(np.array(prior[1:]), prior[0], NEVER, pieces, 0.5)
        assert [none, *share] == pytest.approx(want.tolist(), abs=1e-12)
        joint = exact.jointPosterior({"h", "check"})
        mutual = exact.H("h") - sum(
            p * entropy(np.array([joint[{"h": state, "check": on}] for state in range(4)]) / p)
            for on in (0, 1)
            if (p := sum(joint[{"h": state, "check": on}] for state in range(4)))
        )
        assert expected_gain(np.array([none, *share]), np.array(confirms)) == pytest.approx(mutual, abs=1e-9)
