"""The pages of a skier: pairs, bookings, history."""
