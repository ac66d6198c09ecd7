"""Promises and plans for the stone: pure computations on the ledger."""
