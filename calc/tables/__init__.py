"""The reference: every number with a physical or legal meaning and every sentence on safety, each with its source.

Nothing else reads shared/reference or shared/safety. Begin with `reference.constant`, `reference.oils`,
`fragrance.essential_oils` and `safety.say`; `rows` has the shapes in which they come.
"""
