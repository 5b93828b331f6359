/// The text of an edit of a run, long enough to be torn: included by the stream of edits and by the test that kills it.
fn text(run: &str, count: u64) -> String {
    let mut text = format!("[edit]\nrun = \"{run}\"\ncount = {count}\n");
    for line in 0..count % 300 {
        text.push_str(&format!("line-{line} = \"{count} of {run}, 12 V at 6 mm²\"\n"));
    }
    text + "[end]\nis_whole = true\n"
}
