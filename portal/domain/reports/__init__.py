"""What reports say of the workshop's work: plain computations on plain values."""
