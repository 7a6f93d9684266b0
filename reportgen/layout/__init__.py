"""Document model to pages: the only door to reportlab."""
