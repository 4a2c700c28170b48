using System.Globalization;
using Hindbeat.Charting;
using Hindbeat.Feel;
using Hindbeat.Studies;
using Hindbeat.Units;

namespace Hindbeat.Bench.Desk;

/// <summary>
/// What the pages ask the engine for, kept so that a page is drawn from memory. It works nothing out itself. Every change goes
/// straight into the library, made to what is stored there, and every open page of that study is told.
/// </summary>
public sealed class StudyDesk(string libraryFolder, TimeProvider clock)
{
    /// <summary>Pages are light; a teacher goes back and forth between a few studies.</summary>
    private const int KeptPages = 16;

    /// <summary>Millimetres; on a wide screen a staff is then drawn about as large as on paper at reading distance.</summary>
    private const double ChartWidth = 200;

    private readonly StudyLibrary _library = StudyLibrary.Open(libraryFolder);
    private readonly Kept<string> _charts = new(KeptPages);
    private readonly Kept<FoldedBar> _folded = new(KeptPages);
    private readonly Lock _gate = new();
    private bool _warm;
    private readonly Stack<(Study Study, IReadOnlyList<KeptTake> Takes)> _deleted = new();

    /// <summary>A study was changed, added, deleted or brought back: its id, and the study as it is now (null = gone). Raised on any thread.</summary>
    public event Action<string, Study?>? Changed;

    /// <summary>Where the library lies.</summary>
    public string Folder => _library.Folder;

    /// <summary>The library's own recordings and takes' sound.</summary>
    internal OwnFiles Files => new(_library);

    public DateTimeOffset Now => clock.GetLocalNow();

    public IReadOnlyList<StudySummary> List() => _library.List();

    /// <summary>Null for anything that is not the id of a study in the library; an id is never used as a path.</summary>
    /// <exception cref="InputException">The library holds it, but damaged.</exception>
    public Study? Find(string? id) => StudyIds.IsValid(id) ? _library.Load(id!) : null;

    /// <returns>The study as it is now; null when it was deleted meanwhile.</returns>
    /// <exception cref="InputException">The change cannot be made; nothing has changed.</exception>
    public Study? Do(string id, StudyChange edit) => Change(id, study => StudyHistory.Do(study, edit));

    /// <inheritdoc cref="Do"/>
    public Study? Undo(string id) => Change(id, StudyHistory.Undo);

    /// <inheritdoc cref="Do"/>
    public Study? Redo(string id) => Change(id, StudyHistory.Redo);

    public Study Add(Study study)
    {
        Study added = _library.Save(study);
        Changed?.Invoke(added.Id, added);
        return added;
    }

    /// <summary>Takes a study out of the library; it can be brought back until the bench is closed.</summary>
    public void Delete(string id)
    {
        Study? study = null;
        IReadOnlyList<KeptTake> takes = [];
        try
        {
            study = Find(id);
            if (study is not null)
                takes = new TakeShelf(_library).Of(id);
        }
        catch (InputException)
        {
            // A damaged study cannot be shown, but may be thrown away.
        }

        if (StudyIds.IsValid(id) && _library.Delete(id))
        {
            lock (_gate)
            {
                if (study is not null)
                    _deleted.Push((study, takes));
            }

            Changed?.Invoke(id, null);
        }
    }

    /// <summary>The name of the study that <see cref="BringBack"/> would bring back.</summary>
    public string? LastDeleted
    {
        get
        {
            lock (_gate)
                return _deleted.TryPeek(out var last) ? last.Study.Name : null;
        }
    }

    public void BringBack()
    {
        (Study Study, IReadOnlyList<KeptTake> Takes) last;
        lock (_gate)
        {
            if (!_deleted.TryPop(out last))
                return;
        }

        Add(last.Study);
        var shelf = new TakeShelf(_library);
        foreach (KeptTake take in last.Takes)
            shelf.Keep(take);
    }

    /// <summary>Recordings and takes' sound of deleted studies that may still be brought back.</summary>
    internal IReadOnlyList<string> FilesOfDeleted()
    {
        lock (_gate)
            return [.. _deleted.SelectMany(last => last.Takes.Select(take => take.Source).Append(last.Study.Source)).OfType<string>()];
    }

    /// <summary>How far each study's feel lies from one's, in steps that a trained ear can tell; null when they have too little in common.</summary>
    public IReadOnlyDictionary<string, double?> DistancesFrom(string id)
    {
        var distances = new Dictionary<string, double?>();
        if (Find(id) is not { } one)
            return distances;
        foreach (StudySummary summary in List())
        {
            try
            {
                if (summary.Id == id)
                    distances[id] = 0;
                else if (Find(summary.Id) is { } other)
                    distances[summary.Id] = FeelDistance.Between(one.Feel, other.Feel);
            }
            catch (InputException)
            {
                // A damaged study is like none.
                distances[summary.Id] = null;
            }
        }

        return distances;
    }

    public void KeepAnswer(string id, string question, bool right) => _library.KeepAnswer(id, question, right, Now);

    public IReadOnlyDictionary<string, (int Right, int Asked)> Answers(string id) => _library.Answers(id);

    /// <summary>The whole chart as one SVG element; noteheads carry data-hit, the index into the performance's hits.</summary>
    public string Chart(Study study, bool played) => _charts.For($"{KeyOf(study)} {played}", () =>
    {
        using var svg = new StringWriter();
        SvgPage.Write(Engraver.Engrave(ChartOf(study, figures: false), PageFormat.Scroll(ChartWidth), LookOf(played)).Single(), svg);
        return svg.ToString();
    });

    /// <summary>The chart as sheets of paper, each an SVG element, with its figures at the foot.</summary>
    public static IReadOnlyList<string> Sheets(Study study, PageFormat paper, bool played) =>
    [
        .. Engraver.Engrave(ChartOf(study, figures: true), paper with { Ink = PageInk.Print }, LookOf(played)).Select(page =>
        {
            using var svg = new StringWriter();
            SvgPage.Write(page, svg);
            return svg.ToString();
        }),
    ];

    /// <summary>All bars laid on one, with intervals resampled as the report's were.</summary>
    public FoldedBar Fold(Study study) =>
        _folded.For(KeyOf(study), () => FoldedBar.Fold(study.Performance, study.Feel.Options.Seed, study.Feel.Options.Resamples));

    /// <summary>
    /// Draws the study that stands first in the library, once: whoever opens one next waits neither for that chart nor for
    /// code that has never run.
    /// </summary>
    public void WarmUp()
    {
        if (Interlocked.Exchange(ref _warm, true))
            return;
        try
        {
            if (List() is [{ } first, ..] && Find(first.Id) is { } study)
            {
                Chart(study, played: false);
                Fold(study);
                FeelWords.Describe(study.Feel);
            }
        }
        catch (InputException)
        {
            // Whoever opens that study is told.
        }
    }

    /// <summary>A study that was made anew under its old id, or edited, is another study.</summary>
    internal static string KeyOf(Study study) => string.Create(CultureInfo.InvariantCulture, $"{study.Id} {study.Created.UtcTicks} {study.Revision}");

    internal static Chart ChartOf(Study study, bool figures) => ChartMaker.Make(
        study.Performance, study.Feel, StudyEditor.Writing(study, new ChartOptions { Title = study.Name, ShowFigures = figures }));

    private static EngravingLook LookOf(bool played) => played ? new EngravingLook { PlayedOverWritten = true } : EngravingLook.AsWritten;

    private Study? Change(string id, Func<Study, Study> change)
    {
        Study? changed = _library.Change(id, change);
        if (changed is not null)
            Changed?.Invoke(id, changed);
        return changed;
    }
}
