"""Ways from the animals here to a wish several crosses off.

A route is a tree of pairs: founders at its leaves, young held back between, the wish at its root. It is
the cross schedule of gene pyramiding, without selfing and with sexes that come of age at different times:
Servin et al. 2004 (trees of crosses and the population each knot needs), Canzar & El-Kebir 2011 (any
founders, exact search), De Beukelaer et al. 2015 (schedules as graphs, a Pareto front, pruning); full
citations are in `facts.sources`. What is ours: animals are kept by what a keeper sees, so a kept animal's
genotype stays a distribution that goes into the next cross as it is; seasons pass as sons and daughters come
of age; clutches vary and may fail.
"""
