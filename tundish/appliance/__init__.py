"""What a machine is: a description file read into frozen records."""
