"""The block: how much batter fills a mould to a level, and how many bars the set block is cut into.

Begin with `scaling.oils_for_volume_g` and `cuts.cut_side`.
"""
