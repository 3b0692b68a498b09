"""Charts and drawings as SVG text, each with a text alternative."""
