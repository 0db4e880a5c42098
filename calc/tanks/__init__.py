"""What a tank of lye holds and still gives, by mass.

Begin with `contents.left_after_pours_g` and `contents.blocks_in_tank`.
"""
