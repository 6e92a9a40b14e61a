"""Speed and accuracy, measured in one run."""
