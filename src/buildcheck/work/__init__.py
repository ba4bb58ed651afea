"""The bench work of a change: what it disturbs, the activities that follow, their order, their times."""
