"""The report: its data model, how it is built, and its faces: terminal, JSON file and page."""
