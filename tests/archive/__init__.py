"""That a later release can live with an earlier one, and an earlier with a later, proved on seeded successors."""
