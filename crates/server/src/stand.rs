//! All that is known of one text of a project: read, derived, studied, judged and listed, once.
//! Never: reads a file or a clock. The same text and weather give the same stand.
//! Start at [`Stand::of`]; after an edit [`Stand::after`] keeps what the edit cannot have changed.

use std::sync::{Arc, OnceLock};

use energy::weather::Series;
use model::{Alternative, Project, System};
use network::Results;
use pack::Schedules;
use rules::Finding;

/// A project with everything computed from its text.
pub struct Stand {
    /// What was read.
    pub project: Project,
    /// The weather file that it names; `None` where it names none.
    pub series: Option<Arc<Series>>,
    /// What was derived.
    pub system: System,
    /// The same with the board, where the person designs one.
    pub derived: board::Derived,
    /// Its study.
    pub results: Results,
    /// Its energy; `None` without a bank.
    pub study: Option<Arc<energy::Study>>,
    /// The sky of that study, kept for the next.
    sky: Option<Arc<energy::Sky>>,
    /// What was found, the worst first.
    pub findings: Vec<Finding>,
    /// For a refused system: what would do, tried.
    pub alternatives: Vec<Alternative>,
    /// Cables, fuses, parts; `None` for a refused system, of which no schedule is issued.
    pub schedules: Option<Schedules>,
    diagram: OnceLock<String>,
    layout: OnceLock<Option<board::Layout>>,
}

type Studied = (Option<Arc<energy::Study>>, Option<Arc<energy::Sky>>);

fn studied(system: &System, series: Option<&Series>, known: Option<&Arc<energy::Sky>>) -> Studied {
    energy::study_under(system, series, known).map(|(study, sky)| (Arc::new(study), sky)).unzip()
}

impl Stand {
    /// Computes everything. `series` is the weather file that the project names, read.
    pub fn of(project: Project, series: Option<Series>) -> Self {
        Self::with(project, series.map(Arc::new))
    }

    /// The same with weather that is shared.
    pub fn with(project: Project, series: Option<Arc<Series>>) -> Self {
        let derived = board::derived(&project);
        let system = derived.system.clone();
        let ((study, sky), (results, alternatives)) = rayon::join(
            || studied(&system, series.as_deref(), None),
            || (network::study(&system), derive::alternatives(&project, &system)),
        );
        Self::judged(project, series, derived, results, (study, sky), alternatives)
    }

    /// The stand of another text of the same project, with the same weather file. Where nothing that the energy study reads has
    /// changed, that study is kept. Where the places on the board must be searched anew, `derived.is_due` says so.
    pub fn after(previous: &Stand, project: Project) -> Self {
        let derived = previous.derived.after(&previous.project, &project);
        Self::after_with(previous, project, derived)
    }

    /// The same with the places on the board searched, where they were due.
    pub fn settled(due: &Stand) -> Self {
        Self::after_with(due, due.project.clone(), board::derived(&due.project))
    }

    fn after_with(previous: &Stand, project: Project, derived: board::Derived) -> Self {
        let system = derived.system.clone();
        let series = previous.series.clone();
        let is_same = rules::same_energy(&previous.system, &system);
        let (studied, (results, alternatives)) = rayon::join(
            || {
                if is_same {
                    (previous.study.clone(), previous.sky.clone())
                } else {
                    studied(&system, series.as_deref(), previous.sky.as_ref())
                }
            },
            || (network::study(&system), derive::alternatives(&project, &system)),
        );
        Self::judged(project, series, derived, results, studied, alternatives)
    }

    fn judged(
        project: Project,
        series: Option<Arc<Series>>,
        derived: board::Derived,
        results: Results,
        (study, sky): Studied,
        alternatives: Vec<Alternative>,
    ) -> Self {
        let system = derived.system.clone();
        let beside = derived.faults(&project, None);
        let findings =
            rules::check_beside(&system, &results, study.as_deref(), &beside, derived.layout.is_some());
        let schedules = system
            .refusals
            .is_empty()
            .then(|| Schedules::of(&system, &project.library, &results, study.as_deref(), &findings));
        Self {
            project,
            series,
            system,
            derived,
            results,
            study,
            sky,
            findings,
            alternatives,
            schedules,
            diagram: OnceLock::new(),
            layout: OnceLock::new(),
        }
    }

    /// The one-line diagram as SVG, drawn once.
    pub fn diagram(&self) -> &str {
        self.diagram.get_or_init(|| drawing::one_line(&self.system))
    }

    /// The mounting board, placed once when it is first asked for, which takes about a second; `None` for a refused system.
    pub fn layout(&self) -> Option<&board::Layout> {
        self.layout.get_or_init(|| self.derived.proposed(&self.project)).as_ref()
    }

    /// Line of intent.toml of a path or of the nearest table above it, from 1.
    pub fn line(&self, path: &str) -> Option<usize> {
        let span = self.project.spans.nearest(path)?;
        Some(self.project.source.line_column(span.start).0)
    }
}
