"""Genotypes of shrubs nobody has tested, from pedigree, test crosses and what else is known."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from nuttery.science.arguments import Floats, Ints, float_array
from nuttery.science.errors import UnknownDominance
from nuttery.science.pollen.alphabet import Alphabet, alphabet
from nuttery.science.pollen.evidence import Cross, GenotypeNetwork, genotype_network
from nuttery.science.pollen.hierarchy import Genotype, Hierarchy, expressed
from nuttery.science.pollen.network import Elimination, eliminate, elimination_order
from nuttery.science.pollen.pairs import accepted_pairs, kept_genotypes
from nuttery.science.pollen.pedigree import UNKNOWN, open_genotypes, pedigree
from nuttery.science.pollen.sampler import Sample, sample_genotypes

LARGEST_TABLE = 2**20


@dataclass(frozen=True)
class GenotypePosterior:
    """What is known of every shrub's genotype.

    Attributes
    ----------
    pairs : genotypes, alleles in rising order
    probability : (n, n_pairs)
    exact : whether `probability` was summed exactly (else drawn, with `error`)
    error : largest standard error of a probability; 0 where exact
    pair_error : largest standard error of a compatibility; 0 where exact
    log_evidence : log probability of the evidence, NaN where drawn
    """

    pairs: list[Genotype]
    probability: Floats
    exact: bool
    error: float
    pair_error: float
    log_evidence: float
    _network: GenotypeNetwork = field(repr=False)
    _solved: Elimination | Sample = field(repr=False)
    _classes: Ints = field(repr=False)
    _accepted: tuple[Floats, Floats] = field(repr=False)

    @property
    def alphabet(self) -> Alphabet:
        """Alleles in play."""
        return self._network.letters

    @cached_property
    def compatibility(self) -> Floats:
        """Probability that the pollen is accepted, (n_seed, n_pollen).

        0 on the diagonal and between a shrub and its layers. Joint over each pair: siblings
        that share an unknown parent are not taken for independent.

        Raises
        ------
        UnknownDominance
            If it hangs on an order that is not known; see `compatibility_range`.
        """
        low, high = self._accepted
        if not np.allclose(low, high, atol=1e-12):
            self._name_unknown()
        everyone = slice(0, len(self.probability))
        return self.compatibility_block(everyone, everyone)

    def _name_unknown(self) -> None:
        """Raise for the likeliest genotype whose order of dominance is not known."""
        low, high = self.alphabet.accepts
        unsure = (low != high).any(axis=0)
        worst = int(np.argmax(np.where(unsure, self.probability.max(axis=0), -1)))
        expressed(self.pairs[worst], self.alphabet.hierarchy)

    def compatibility_range(self) -> tuple[Floats, Floats]:
        """Lowest and highest probability of acceptance over every order of dominance possible.

        Returns
        -------
        (low, high), each (n_seed, n_pollen); alike where every order is known

        Notes
        -----
        Source: bounds for each pair by itself, from `compatibility_range` of genotypes.
        Valid:  any hierarchy.

        Examples
        --------
        >>> post = infer_genotypes([-1, -1], [-1, -1], alleles=[1, 2], frequencies=[0.5, 0.5],
        ...                        hierarchy=Hierarchy({}), known={0: (1, 1), 1: (1, 2)})
        >>> [float(table[0, 1]) for table in post.compatibility_range()]
        [0.0, 1.0]
        """
        everyone = slice(0, len(self.probability))
        low, high = (self._expanded(table, everyone, everyone) for table in self._accepted)
        return low, high

    @property
    def order_settles(self) -> bool:
        """Whether no acceptance hangs on an order of dominance that is not known."""
        low, high = self._accepted
        return bool(np.allclose(low, high, atol=1e-12))

    def highest_block(self, seed: slice, pollen: slice) -> Floats:
        """Part of the highest acceptance over every order of dominance possible.

        Parameters
        ----------
        seed, pollen : slices of shrubs with start and stop

        Returns
        -------
        (seeds, pollens) probability of acceptance

        Notes
        -----
        Source: as `compatibility_range`, a part at a time.
        Valid:  any hierarchy; `compatibility_block` gives the lowest.

        Examples
        --------
        >>> post = infer_genotypes([-1, -1], [-1, -1], alleles=[1, 2], frequencies=[0.5, 0.5],
        ...                        hierarchy=Hierarchy({}), known={0: (1, 1), 1: (1, 2)})
        >>> post.highest_block(slice(0, 1), slice(0, 2))
        array([[0., 1.]])
        """
        return self._expanded(self._accepted[1], seed, pollen)

    def compatibility_block(self, seed: slice, pollen: slice) -> Floats:
        """Part of `compatibility`, for plantings too large to hold it whole.

        Parameters
        ----------
        seed, pollen : slices of shrubs with start and stop

        Returns
        -------
        (seeds, pollens) probability of acceptance

        Notes
        -----
        Source: as `compatibility`; where an order of dominance is unknown, its lowest value.
        Valid:  may be given to `pollen_cover` in place of the table.

        Examples
        --------
        >>> post = infer_genotypes([-1, -1], [-1, -1], alleles=[1, 2], frequencies=[0.5, 0.5],
        ...                        hierarchy=Hierarchy({1: 2, 2: 1}), known={0: (1, 1), 1: (2, 2)})
        >>> post.compatibility_block(slice(0, 1), slice(0, 2))
        array([[0., 1.]])
        """
        return self._expanded(self._accepted[0], seed, pollen)

    def _expanded(self, accepted: Floats, seed: slice, pollen: slice) -> Floats:
        stand, second, genet = self._classes
        rows, columns = stand[seed, None], stand[None, pollen]
        block: Floats = accepted[rows, columns]
        alike = rows == columns
        block[alike] = accepted[rows, second[None, pollen]][alike]
        block[genet[seed, None] == genet[None, pollen]] = 0.0
        return block

    def draw(self, size: int, rng: np.random.Generator) -> Ints:
        """Joint draws of all genotypes.

        Parameters
        ----------
        size : number of draws
        rng : source of randomness

        Returns
        -------
        (size, n) indices into `pairs`

        Notes
        -----
        Source: backward sampling; where the network was drawn already, those draws are reused.
        Valid:  siblings share their parents' draws.

        Examples
        --------
        >>> post = infer_genotypes([-1, 0], [-1, 0], alleles=[1, 2], frequencies=[0.5, 0.5],
        ...                        hierarchy=Hierarchy({}), known={0: (1, 1)})
        >>> post.draw(2, np.random.default_rng(1))
        array([[0, 0],
               [0, 0]])
        """
        return _all_shrubs(self._network, self._draw_kept(size, rng), rng)

    def _draw_kept(self, size: int, rng: np.random.Generator) -> Ints:
        """Joint draws of the kept genets, (genets, size)."""
        if isinstance(self._solved, Sample):
            pick = rng.integers(self._solved.drawn.shape[1], size=size)
            return self._solved.drawn[:, pick]
        kept = sorted(self._network.states)
        return kept_genotypes(self._network, self._solved.draw({}, rng, size), kept, size)

    def as_draws(self, size: int, rng: np.random.Generator) -> "GenotypePosterior":
        """The same knowledge, small enough to be stored: joint draws in place of large tables.

        Parameters
        ----------
        size : number of joint draws that go with it
        rng : source of randomness

        Returns
        -------
        GenotypePosterior with the same chances; `draw` then repeats these draws

        Notes
        -----
        Source: as `draw`.
        Valid:  some thousands of draws; the chance of each possible father is then a share of them.

        Examples
        --------
        >>> post = infer_genotypes([-1], [-1], alleles=[1, 2], frequencies=[0.5, 0.5],
        ...                        hierarchy=Hierarchy({1: 2, 2: 1}))
        >>> post.as_draws(100, np.random.default_rng(1)).probability
        array([[0.25, 0.5 , 0.25]])
        """
        kept = np.array(sorted(self._network.states), dtype=np.int64)
        drawn = self._draw_kept(size, rng)
        sample = Sample(kept, drawn, np.empty((0, 0)), self.error, 1)
        return replace(self, _network=replace(self._network, factors=[]), _solved=sample)

    @cached_property
    def father_probability(self) -> dict[int, dict[int, float]]:
        """Probability of each possible father, for shrubs given several; −1 is none of them."""
        family = self._network.family
        return {
            int(i): self._fathers(int(genet))
            for i, genet in enumerate(family.genet)
            if len(family.fathers[genet]) > 1
        }

    def _fathers(self, genet: int) -> dict[int, float]:
        fathers = self._network.family.fathers[genet]
        which = self._network.father_unknown(genet)
        if which not in self._network.sizes:
            return dict(fathers)
        if isinstance(self._solved, Sample):
            return _drawn_fathers(self._network, self._solved, genet)
        chances = self._solved.marginal(which)
        return {f: float(p) for (f, _), p in zip(fathers, chances, strict=True)}


def infer_genotypes(  # noqa: PLR0913 - the agreed interface, and what it grew by
    mother: ArrayLike,
    father: ArrayLike,
    *,
    alleles: Sequence[int],
    frequencies: ArrayLike,
    hierarchy: Hierarchy,
    known: Mapping[int, Sequence[int]] | None = None,
    crosses: Sequence[Cross] = (),
    false_set: float = 0.02,
    false_fail: float = 0.1,
    possible_fathers: Mapping[int, Mapping[int, float]] | None = None,
    clone_of: ArrayLike | None = None,
    hints: Mapping[int, ArrayLike] | None = None,
    effort: float = 1.0,
    rng: np.random.Generator | None = None,
) -> GenotypePosterior:
    """Probability of every genotype of every shrub, from all that is known together.

    Parameters
    ----------
    mother, father : (n,) int index of the parent, or −1: a plant outside, of unknown genotype
    alleles : alleles in play
    frequencies : (alleles,) their shares among unknown parents, adding up to 1
    hierarchy : order of dominance in pollen
    known : {shrub: genotype}, from a laboratory
    crosses : (seed parent, pollen parent, took) of each bagged test cross
    false_set : chance that an incompatible cross takes all the same (stray pollen, a slip)
    false_fail : chance that a compatible cross fails all the same (frost, old pollen)
    possible_fathers : {shrub: {father, or −1 for a plant outside: chance}} in place of `father`
    clone_of : (n,) index of the shrub of which this one is a layer, or −1
    hints : {shrub: (pairs,) likelihood} of weak evidence, as made by `natural_set_hints`
    effort : work spent on drawing where sums are too large, 1 as usual; the error grows with
        the square root of what is saved
    rng : source of randomness where sums are too large, by default the same each time

    Returns
    -------
    GenotypePosterior

    Raises
    ------
    BadArgumentError
        If an argument is impossible, or facts contradict each other.
    UnknownDominance
        If a cross hangs on an order of dominance that is not known.

    Notes
    -----
    Source: Mendel's law; Mehlenbacher 1997 for acceptance; peeling of pedigrees (Elston and
        Stewart 1971, Hum. Hered. 21:523–542; Lauritzen and Sheehan 2003, Stat. Sci. 18:489–514).
    Valid:  exact while no table exceeds a million entries; beyond, hubs are drawn and the error
        is stated. Each −1 is another plant; give siblings of one unknown mother a row for her.
    Limits: frequencies among wild or hybrid hazels are not published; results lean on them.

    Examples
    --------
    >>> post = infer_genotypes([-1, 0], [-1, -1], alleles=[1, 2, 3], frequencies=[0.5, 0.3, 0.2],
    ...                        hierarchy=Hierarchy({3: 3, 1: 2, 2: 1}), known={0: (1, 2)})
    >>> post.pairs[1], post.probability[1].round(2)
    ((1, 2), array([0.25, 0.4 , 0.1 , 0.15, 0.1 , 0.  ]))
    """
    letters = alphabet(alleles, frequencies, hierarchy)
    rates = {"false_set": false_set, "false_fail": false_fail}
    for name, rate in rates.items():
        float_array(name, rate, ndim=0, low=0, high=1)
    family = pedigree(mother, father, possible_fathers=possible_fathers, clone_of=clone_of)
    still = open_genotypes(family, letters, known or {})
    told = _checked_hints(hints or {}, family.genet, len(letters.pairs))
    network = genotype_network(letters, family, still, crosses=crosses, hints=told, **rates)
    work = float(float_array("effort", effort, ndim=0, low=1e-3, high=1e3))
    return _solve(network, np.random.default_rng(0) if rng is None else rng, work)


def _checked_hints(hints: Mapping[int, ArrayLike], genet: Ints, pairs: int) -> dict[int, Floats]:
    told: dict[int, Floats] = {}
    for i, likelihood in hints.items():
        float_array(f"hints: shrub {i}, expected among the shrubs;", i, low=0, high=len(genet) - 1)
        row = float_array(f"hints[{i}]", likelihood, ndim=1, low=0)
        float_array(f"hints[{i}]: number of genotypes", len(row), low=pairs, high=pairs)
        told[int(genet[i])] = told.get(int(genet[i]), np.ones(pairs)) * row
    return told


def _solve(network: GenotypeNetwork, rng: np.random.Generator, effort: float) -> GenotypePosterior:
    """Posterior of a network: exact if its tables stay small, else drawn."""
    scopes = [factor.scope for factor in network.factors]
    order = elimination_order(scopes, network.sizes, LARGEST_TABLE)
    solved = _exact_or_drawn(network, order, rng, effort)
    kept = sorted(network.states)
    chances = _class_chances(network, solved, kept)
    accepted, pair_error = accepted_pairs(network, solved, kept, chances, rng)
    place = {genet: k for k, genet in enumerate(kept)}
    stand = np.array([place[g] for g in network.stand.tolist()], dtype=np.int64)
    second = np.array(
        [place[network.second.get(g, g)] for g in network.stand.tolist()], dtype=np.int64
    )
    exact = isinstance(solved, Elimination)
    return GenotypePosterior(
        pairs=network.letters.pairs,
        probability=chances[stand],
        exact=exact,
        error=0.0 if isinstance(solved, Elimination) else solved.error,
        pair_error=pair_error,
        log_evidence=solved.log_weight if isinstance(solved, Elimination) else float("nan"),
        _network=network,
        _solved=solved,
        _classes=np.stack([stand, second, network.family.genet]),
        _accepted=accepted,
    )


def _exact_or_drawn(
    network: GenotypeNetwork, order: list[int] | None, rng: np.random.Generator, effort: float
) -> Elimination | Sample:
    if order is None:
        return sample_genotypes(network, rng, effort=effort)
    return eliminate(network.factors, order)


def _class_chances(
    network: GenotypeNetwork, solved: Elimination | Sample, kept: list[int]
) -> Floats:
    """Probability of every genotype of every kept genet."""
    if isinstance(solved, Sample):
        return solved.chances
    chances = np.zeros((len(kept), len(network.letters.pairs)))
    for k, genet in enumerate(kept):
        states = network.states[genet]
        if len(states) == 1:
            chances[k, states[0]] = 1.0
        else:
            chances[k, states] = solved.marginal(genet)
    return chances


def _all_shrubs(network: GenotypeNetwork, drawn: Ints, rng: np.random.Generator) -> Ints:
    """Genotypes (draws, n): those drawn, and silent siblings from their parents' draws."""
    family, n = network.family, len(network.stand)
    genotype = np.zeros((n, drawn.shape[1]), dtype=np.int64)
    genotype[sorted(network.states)] = drawn
    for i in family.order:
        if i not in network.states:
            genotype[i] = _child(network, genotype, i, rng)
    return genotype[family.genet].T


def _drawn_fathers(network: GenotypeNetwork, solved: Sample, genet: int) -> dict[int, float]:
    """Chances of possible fathers given all genotypes, averaged over draws."""
    letters, family = network.letters, network.family
    place = {int(g): k for k, g in enumerate(solved.kept)}
    child = solved.drawn[place[genet]]
    first, second, draws = letters.first[child], letters.second[child], np.arange(len(child))
    passes = np.vstack([letters.passes, letters.frequencies])

    def gametes(parent: int) -> Floats:
        nobody = np.full(len(child), UNKNOWN)
        rows: Floats = passes[nobody if parent == UNKNOWN else solved.drawn[place[parent]]]
        return rows

    egg = gametes(int(family.mother[genet]))
    weights = []
    for father, prior in family.fathers[genet]:
        pollen = gametes(father)
        straight = egg[draws, first] * pollen[draws, second]
        turned = egg[draws, second] * pollen[draws, first]
        weights.append(prior * (straight + np.where(first == second, 0.0, turned)))
    chances = np.stack(weights)
    mean = (chances / chances.sum(axis=0)).mean(axis=1)
    return {f: float(p) for (f, _), p in zip(family.fathers[genet], mean, strict=True)}


def _child(network: GenotypeNetwork, genotype: Ints, i: int, rng: np.random.Generator) -> Ints:
    """Genotypes of one more sibling, given its parents' genotypes in each draw."""
    letters, family = network.letters, network.family
    size = genotype.shape[1]
    sources = np.array([f for f, _ in family.fathers[i]])
    weights = np.array([w for _, w in family.fathers[i]])
    father = sources[rng.choice(len(sources), size=size, p=weights)]
    draws = np.arange(size)
    dam = int(family.mother[i])
    mothers = np.full(size, UNKNOWN) if dam == UNKNOWN else genotype[dam]
    fathers = np.where(father == UNKNOWN, UNKNOWN, genotype[father, draws])
    egg, pollen = (_gamete(letters, parents, rng) for parents in (mothers, fathers))
    pair_of = letters.makes.argmax(axis=2)
    child: Ints = pair_of[egg, pollen]
    return child


def _gamete(letters: Alphabet, parents: Ints, rng: np.random.Generator) -> Ints:
    chances = np.vstack([letters.passes, letters.frequencies])[parents]
    running = np.cumsum(chances, axis=1)
    at = rng.random(len(parents))[:, None] * running[:, -1:]
    gamete: Ints = (running < at).sum(axis=1).astype(np.int64)
    return gamete


__all__ = ["GenotypePosterior", "UnknownDominance", "infer_genotypes"]
