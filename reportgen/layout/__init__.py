"""Document model to pages: the only door to reportlab.

Start at `reportgen.layout.document.render_report`. Importing this package imports nothing heavy.
"""
