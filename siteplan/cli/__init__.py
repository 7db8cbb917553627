"""The command line: one file a command; alone prints and reads flags."""
