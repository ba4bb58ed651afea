"""What the search for remedies has to know of bicycles."""
