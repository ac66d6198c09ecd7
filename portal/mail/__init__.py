"""Letters: what they say, the outbox they wait in, and how they leave the house."""
