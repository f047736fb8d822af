"""The figures: how often a fault comes, how long a look takes, what counts as proof and as a pass, as a form."""
