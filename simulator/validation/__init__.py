"""How the model is checked: against exact solutions, printed sources, a reference solver and itself."""
