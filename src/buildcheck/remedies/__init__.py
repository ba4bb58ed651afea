"""The search for the cheapest remedies."""
