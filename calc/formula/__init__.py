"""A formula as the maker states it, the chemistry that follows from it, and what it is per kilogram of oils.

Begin with `declaration.Formula` and `sheet.formula_sheet`; `chemistry` is shared with the batch.
"""
