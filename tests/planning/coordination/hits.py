"""Whether carriers of one room break a rule, by writing out every product; shares no code with any search."""

from __future__ import annotations

from itertools import combinations, permutations

from fleet.planning.coordination.packing import Packing


def breaks_with(problem: Packing, carriers: tuple[int, ...], newcomer: int) -> bool:
    """Whether a newcomer breaks a rule in which it has a part, as neighbour, maker or victim."""
    everybody = (*carriers, newcomer)
    if any(abs(newcomer - each) < problem.spacing or newcomer == each for each in carriers):
        return True
    for makers, product, guard in _products(problem, everybody):
        victims = everybody if newcomer in makers else (newcomer,)
        if any(abs(product - victim) < guard for victim in victims):
            return True
    return False


def broken(problem: Packing, carriers: tuple[int, ...]) -> bool:
    """Whether carriers break any rule in which one has a part that isn't fixed."""
    newcomers = [each for each in carriers if each not in problem.fixed]
    return any(breaks_with(problem, tuple(each for each in carriers if each != new), new) for new in newcomers)


def _products(problem: Packing, carriers: tuple[int, ...]) -> list[tuple[tuple[int, ...], int, int]]:
    """Makers, product and guard, of the families that are on."""
    found: list[tuple[tuple[int, ...], int, int]] = []
    for a, b in permutations(carriers, 2):
        if problem.two:
            found.append(((a, b), 2 * a - b, problem.two))
        if problem.fifth:
            found.append(((a, b), 3 * a - 2 * b, problem.fifth))
    for a, b in combinations(carriers, 2):
        found += [((a, b, c), a + b - c, problem.three) for c in carriers if problem.three and c not in {a, b}]
    return found
