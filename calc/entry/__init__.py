"""What a person typed and how it is shown again: languages, problems, units, text, declared fields, counting.

Begin with `declare.measure` and its sisters, `fields.read`, `language.tr`, `problems.Problem` and `shown.number`.
"""
