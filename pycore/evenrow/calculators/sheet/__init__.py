"""The printed field sheet: one leaf, two sides, for someone in the field without a phone.

`evenrow.calculators.field_sheet` puts it together. `front` is how to build, `back` how to start
and run; both are made of `Block`s whose height is known beforehand (`paper`), so that what has no
room is left out with a line that says so, and nothing runs over the edge.
"""
