"""A batch: what is ordered, how large a block is, what is poured in which order, and the sheet that tells it.

Begin with `order.BatchOrder`, `order.BatchSetting` and `sheet.batch_sheet`.
"""
