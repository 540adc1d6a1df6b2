"""Use cases of cutting plans: plan, commit, undo, work in the background."""
