"""Scent: what goes in by the tables or by a supplier's papers, what limits it, what a label must name.

Begin with `material.parts_of`, `limits.scent_limits`, `label.label_list`, `quick_check.scent_sheet` and
`batch.batch_scent`.
"""
