"""What a tank holds and still gives, how it is filled, how strong its lye is, how it warms and cools.

Begin with `fold.tanks` and `standing.standing`, then `loading`.
"""
