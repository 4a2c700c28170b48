using System.Globalization;
using Hindbeat.Charting;
using Hindbeat.Feel;
using Hindbeat.Studies;
using Hindbeat.Units;

namespace Hindbeat.Bench.Desk;

/// <summary>
/// What the pages ask the engine for, kept so that a page is drawn from memory. It works nothing out itself.
/// </summary>
public sealed class StudyDesk(string libraryFolder)
{
    /// <summary>Pages are light; a teacher goes back and forth between a few studies.</summary>
    private const int KeptPages = 16;

    /// <summary>Millimetres; on a wide screen a staff is then drawn about as large as on paper at reading distance.</summary>
    private const double ChartWidth = 200;

    private readonly StudyLibrary _library = StudyLibrary.Open(libraryFolder);
    private readonly Kept<string> _charts = new(KeptPages);
    private readonly Kept<FoldedBar> _folded = new(KeptPages);

    public IReadOnlyList<StudySummary> List() => _library.List();

    /// <summary>Null for anything that is not the id of a study in the library; an id is never used as a path.</summary>
    /// <exception cref="InputException">The library holds it, but damaged.</exception>
    public Study? Find(string? id) => StudyIds.IsValid(id) ? _library.Load(id!) : null;

    /// <summary>The whole chart as one SVG element; noteheads carry data-hit, the index into the performance's hits.</summary>
    public string Chart(Study study) => _charts.For(KeyOf(study), () =>
    {
        Chart chart = ChartMaker.Make(study.Performance, study.Feel, new ChartOptions { Title = study.Name, ShowFigures = false });
        using var svg = new StringWriter();
        SvgPage.Write(Engraver.Engrave(chart, PageFormat.Scroll(ChartWidth)).Single(), svg);
        return svg.ToString();
    });

    /// <summary>All bars laid on one, with intervals resampled as the report's were.</summary>
    public FoldedBar Fold(Study study) =>
        _folded.For(KeyOf(study), () => FoldedBar.Fold(study.Performance, study.Feel.Options.Seed, study.Feel.Options.Resamples));

    /// <summary>A study that was made anew under its old id is another study.</summary>
    internal static string KeyOf(Study study) => string.Create(CultureInfo.InvariantCulture, $"{study.Id} {study.Created.UtcTicks}");
}
