"""What every paper is made of: marks, measured text, paper sizes, ink."""
