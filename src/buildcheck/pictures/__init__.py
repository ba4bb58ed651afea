"""What the drawings of a job show, as data: the bike, its lines, its stack, its wiring, its gears."""
