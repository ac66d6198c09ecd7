"""Every change, one function a use case: load, insist, decide, write, tell. Never ends the transaction."""
