"""One file a job: gather, ask the engine, keep."""
