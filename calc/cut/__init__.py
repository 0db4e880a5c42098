"""The cut plan: how a set block is cut into bars, what is lost, and what to fill and weigh for the bars wanted.

Begin with `plan.cut_plan`; a batch that is issued asks `ways.best_way`.
"""
