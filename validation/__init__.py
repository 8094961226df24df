"""Long checks on simulated truth; each module's `main` prints its figures and says whether they hold."""
