"""The project: settings, access rules, background jobs and the commands that concern the whole."""
