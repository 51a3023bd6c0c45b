"""Charts as SVG text, drawn with the words of Matplotlib but without importing it."""
