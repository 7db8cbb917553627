"""What is said of the sheets that a run writes, and of those it does not."""

SENTENCES: dict[str, str] = {
    "sheets_chosen": "{count} of {all} possible sheets were written, as the plan asks. Any other: siteplan sheet {plan} ID",
    "sheets_survey_first": "The list is long: {count} of {all} possible sheets were written, those to survey first. Any other: "
    "siteplan sheet {plan} ID. All of them: sheets = \"all\" in [outputs]",
    "sheets_none": "No sheets were written, as the plan asks. To make one: siteplan sheet {plan} ID",
    "sheet_rows_unknown": "[outputs] sheet_rows names {count} that the list does not hold: {names:list}.",
}
