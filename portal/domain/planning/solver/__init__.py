"""The stone plan for CP-SAT: what no plan can be below, and better plans. Only this package loads OR-Tools."""
