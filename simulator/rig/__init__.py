"""The machine and its surroundings: rigs, sites, faults and remedies, what hands may do, and how work is made safe."""
