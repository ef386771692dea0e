"""How a sheet's circuit behaves: solve, modes, sensitivities and controller logic."""
