"""Views of a Report: text and JSON. They compute nothing of the trade."""
