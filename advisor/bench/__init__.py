"""The bench: what a learner can do with the physical burner, and class sheets. It is physics of a model unit, and
evidence about nobody's burner: nothing of it flows into rules or reasoning.
"""
