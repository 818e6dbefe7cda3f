"""Reports of an assessment, and the shop's papers: records go in, a page, a PDF, a table or a workbook comes out.

Nothing is judged here.  Doors of the walk-around report, each in a module of its own so that its library loads only
when that report is asked for: `html.html_fragment`, `html.html_page`, `pdf.pdf`, `csv_out.findings_csv`,
`xlsx_out.workbook`.  What they say is put together once, in `content`; JSON needs no door, `Assessment.as_json` is the
file.

Each paper of the shop is a module with a record of what it says and its `pdf`: `dash_tag`, `job_card`,
`release_record`, `dispatch_release`, `recheck_slip`, `defect_report`.  What they share is in `parts`, in `typesetting`
and in `paper.typ`.
"""
