"""The pages of one report, and of one verification. Start at `reportgen.report.document.render_report`."""
