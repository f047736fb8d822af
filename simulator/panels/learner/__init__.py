"""Who learns: name, units and records, work taken along, progress, skills."""
