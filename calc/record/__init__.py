"""What is frozen when a batch is issued, under which code, and what keeps it from being issued.

Begin with `issued.may_be_issued` and `issued.issued_record`. A change that can change an amount raises
`issued.RULES_VERSION`.
"""
