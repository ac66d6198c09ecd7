"""The pages of a club's managers: juniors, their pairs, one order for many."""
