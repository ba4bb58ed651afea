"""What to do about the findings: remedies, measurements, bench work. The rule runner comes in as an argument."""
