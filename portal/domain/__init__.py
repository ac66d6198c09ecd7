"""What is true about snow, skis and bookings: pure values and functions, no framework, no database, no clock, no chance."""
