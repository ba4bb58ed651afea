"""The cheapest set of candidates that clears every conflict: an implicit hitting set search with an oracle.

1. Each *slot* has a *domain* of *candidates*, the one that is there first; a domain is opened when a conflict names it.
2. The *master problem* (weighted MaxSAT, solved by RC2) picks the cheapest assignment that no *nogood* forbids.
3. The *oracle* assesses this assignment as a whole: the *conflicts* left, and the operations that it costs.
4. The *explanation* of a conflict (slots and the features it rests on) is minimised by QuickXplain while it is still
   entailed, and widened; so is that of the cost of each operation.
5. What is left becomes a nogood, or a *cost cut*, for every assignment that shows the same features.
6. Again from 2. The nogoods never forbid an assignment that does, so the cost of the master problem is a lower bound,
   and an assignment without a conflict that the master problem picks at its true cost is the cheapest.
7. What an assignment takes away costs more than all prices together: so those that take away less come first.
8. Is there no assignment left, a minimal unsatisfiable subset of the nogoods is the reason: it is *infeasible*.

Literature: implicit hitting sets (Moreno-Centeno, Karp: The implicit hitting set approach to solve combinatorial
optimization problems, Operations Research 61, 2013); logic-based Benders decomposition (Hooker, Ottosson, Mathematical
Programming 96, 2003); RC2 (Ignatiev, Morgado, Marques-Silva, JSAT 11, 2019); QuickXplain (Junker, AAAI 2004).
"""

from buildcheck.remedies.explain import Limits, first_limits, minimal_subset, weakest_of_each, widest_limits
from buildcheck.remedies.infeasible import infeasibility, settle_what_stays
from buildcheck.remedies.master import Assignment, CostCut, cheapest, excluded_by
from buildcheck.remedies.nogoods import Follows, Given, Nogood, NogoodStore, Observation, Seen
from buildcheck.remedies.oracle import Assessment, Conflict, OperationCost, Oracle
from buildcheck.remedies.search import ContradictionError, GaveUpError, RemedySearch, Solve, Stop
from buildcheck.remedies.terms import (
    CHANGED,
    STEP,
    SUPPLY,
    TAKEN_AWAY,
    C,
    Candidate,
    Cube,
    Domains,
    Explanation,
    Feature,
    Features,
    Literal,
    taken_away,
    to_pay,
)

__all__ = [
    "CHANGED", "STEP", "SUPPLY", "TAKEN_AWAY", "Assessment", "Assignment", "C", "Candidate", "Conflict",
    "ContradictionError", "CostCut", "Cube", "Domains", "Explanation", "Feature", "Features", "Follows", "GaveUpError",
    "Given", "Limits", "Literal", "Nogood", "NogoodStore", "Observation", "OperationCost", "Oracle", "RemedySearch",
    "Seen", "Solve", "Stop", "cheapest", "excluded_by", "first_limits", "infeasibility", "minimal_subset",
    "settle_what_stays", "taken_away", "to_pay", "weakest_of_each", "widest_limits",
]  # fmt: skip
