"""What the search for remedies is told of bicycles, and its answer in the words of a report.

Slots are positions, candidates are parts at their prices; `domains` says which may come where, and `joints` which two
cannot meet. `oracle` assesses by vetting: what blocks is a conflict, whose explanation is the finding's `evidence`,
cut down by `explanations` as long as `entailment` says that the finding stays; work is charged by `costs`. `report`
tells remedies with their proof; `impossible` and `new_part` why there is none, and what would help.
"""
