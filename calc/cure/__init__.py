"""From the cutter to the sale: how bars dry on the racks, when they are ready, and what weight may be printed on them.

Begin at `drying.dry` (the curve), `forecast.forecast` (what it says of the sale), `net_quantity.allowed` and `rack.batches`.
"""
