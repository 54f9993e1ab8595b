"""The twenty failure situations: each told from the others by readings alone, ended by its cure and by nothing else."""
