"""What to measure first where a verdict is undecided. How to vet with more facts known comes in as an argument."""
