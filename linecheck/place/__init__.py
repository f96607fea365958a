"""When and where: the line in time and in the form."""
