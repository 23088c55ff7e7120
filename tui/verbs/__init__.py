"""The command's verbs, a file each; what they need of the engine is imported when they run."""
