"""The label of a soap: what it must say, how high its letters are, in which order ingredients stand, and where all that fits.

Begin at `declared.Label`, `composition.in_bar`, `listing.listing`, `quantity.net_quantity` and `layout.laid_out`.
"""
