"""Oils, lye and water by mass and by volume, the heat of mixing, and the superfat with its interval.

Begin with `oils.saponification_used`, `lye.alkali_needed`, `water.lye_plan`, `density.batter_volume_ml`,
`heat.mix_temperature_c` and `superfat.superfat_interval`.
"""
