using Hindbeat.Bench.Adding;
using Hindbeat.Bench.Desk;
using Hindbeat.Charting;
using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Studies;
using Hindbeat.Units;
using Microsoft.AspNetCore.Components;
using Microsoft.JSInterop;

namespace Hindbeat.Bench.Pages;

/// <summary>
/// One study, open. Holds no state that a reload would lose but the stroke that is picked and how the chart is looked at: what is
/// changed goes to the desk, and what the desk then holds is drawn, whoever changed it.
/// </summary>
public sealed partial class StudyPage : IAsyncDisposable
{
    private const int BarsBesideDials = 14;

    private static readonly FeelFigureKind[] _main = [.. FeelFigures.All.Where(kind => !kind.IsDetailed)];
    private static readonly FeelFigureKind[] _places = [.. FeelFigures.All.Except(_main)];

    // Asked for while the page is still being read, instead of one after the other when it is live.
    private static readonly string[] _scripts =
        [.. new[] { "study", "bars", "cuts", "dials", "editing", "handling", "keys", "leaving", "looping", "peaks", "playheads", "pointing", "sounds", "spectrum", "tapping", "timeline", "transport" }.Select(name => $"/{name}.js")];

    private readonly Lock _showing = new();
    private Study? _study;
    private string? _trouble;
    private string _chart = "";
    private IReadOnlyList<string> _words = [];
    private FoldedBar? _folded;
    private bool _gone;

    /// <summary>
    /// The chart that the page was sent with is taken over as it stands (early.js): of three minutes it is most of the page, and sending and
    /// setting it a second time was half of the wait until the page answers.
    /// </summary>
    private bool _adopts;

    /// <summary>Chart and time axis come first and answer; what lies below them on the page is set when they do.</summary>
    private bool _whole;
    private bool _played;
    private StrokeRef? _picked;
    private string _message = "";
    private ElementReference _root;
    private IJSObjectReference? _module;
    private IJSObjectReference? _sheet;
    private DotNetObjectReference<StudyHand>? _hand;
    private bool _sheetIsOld;

    [Parameter] public required string Id { get; set; }

    /// <summary>Of which state the page that was sent first shows the chart.</summary>
    [PersistentState] public string? ChartSent { get; set; }

    [Inject] private StudyDesk Desk { get; set; } = null!;

    [Inject] private StudySounds Sounds { get; set; } = null!;

    [Inject] private Intake Intake { get; set; } = null!;

    [Inject] private IJSRuntime Script { get; set; } = null!;

    [Inject] private NavigationManager Navigation { get; set; } = null!;

    // A study made from an electronic kit's MIDI has a source, but no sound of its own.
    private bool HasOriginal => _study is { Recording: not null, Source: not null } && !_gone;

    /// <summary>A chart of more than so many bars is taller than figures and dials together, which then stand beside it and stay in view.</summary>
    private bool IsLong => _study is { } study && study.Performance.Pulse.LastBar - study.Performance.Pulse.FirstBar >= BarsBesideDials;

    private Hit? Picked => _picked is { } picked ? _study?.Performance.Hits.FirstOrDefault(hit => hit.Piece.Id() == picked.Piece && hit.Time.TotalSeconds == picked.Time) : null;

    public async ValueTask DisposeAsync()
    {
        Desk.Changed -= OnDeskChanged;
        _hand?.Dispose();
        try
        {
            if (_sheet is not null)
            {
                await _sheet.InvokeVoidAsync("close");
                await _sheet.DisposeAsync();
            }

            if (_module is not null)
                await _module.DisposeAsync();
        }
        catch (JSDisconnectedException)
        {
            // The page is gone already, and its sound with it.
        }
    }

    protected override void OnInitialized()
    {
        try
        {
            if (Desk.Find(Id) is not { } found)
            {
                Navigation.NotFound();
                return;
            }

            _gone = found is { Recording: not null, Source: { } source } && !File.Exists(source);
            Show(found);
            string shown = StudyDesk.KeyOf(found);
            _adopts = RendererInfo.IsInteractive && ChartSent == shown;
            ChartSent = shown;
            // Read before it is asked for: by the time that the page is live its outline can be drawn.
            if (HasOriginal)
                _ = Task.Run(() => Sounds.Original(found));
        }
        catch (InputException reason)
        {
            _trouble = reason.Message;
            return;
        }

        Desk.Changed += OnDeskChanged;
    }

    protected override async Task OnAfterRenderAsync(bool firstRender)
    {
        if (_study is not { } study)
            return;
        if (firstRender)
        {
            _hand = DotNetObjectReference.Create(new StudyHand(
                edit => Answer(() => ChangeAsync(edit)), hit => InvokeAsync(() => PickAsync(hit)), back => Answer(back ? UndoAsync : RedoAsync), (from, to) => Answer(() => CutAsync(from, to)),
                () => InvokeAsync(DrawChart)));
            _module = await Script.InvokeAsync<IJSObjectReference>("import", "/study.js");
            _sheet = await _module.InvokeAsync<IJSObjectReference>("open", _root, StudySheet.Of(study, HasOriginal), _hand);
            _sheetIsOld = false;
            await SetTheRestAsync();
        }
        else if (_sheetIsOld && _sheet is not null)
        {
            _sheetIsOld = false;
            await _sheet.InvokeVoidAsync("update", StudySheet.Of(study, HasOriginal), Picked is { } picked ? IndexOf(study, picked) : null);
        }
    }

    /// <summary>There was nothing to take over.</summary>
    private void DrawChart()
    {
        _adopts = false;
        StateHasChanged();
    }

    private async Task SetTheRestAsync()
    {
        _whole = true;
        if (_study is { } study)
            await Task.Run(() => Show(study));
        StateHasChanged();
    }

    private static int? IndexOf(Study study, Hit hit)
    {
        for (int i = 0; i < study.Performance.Hits.Count; i++)
        {
            if (ReferenceEquals(study.Performance.Hits[i], hit))
                return i;
        }

        return null;
    }

    private static string BarsInWords(Performance performance)
    {
        int bars = performance.Hits.Where(hit => hit.Position is not null).Select(hit => hit.Position!.Value.Bar).Distinct().Count();
        return bars == 1 ? $"one bar of {performance.Meter}" : $"{bars} bars of {performance.Meter}";
    }

    /// <summary>
    /// Sets the page to a state of the study, unless it shows a later one already: two changes made at once may come back in
    /// either order.
    /// </summary>
    private void Show(Study study)
    {
        string chart = ChartOrReason(study);
        IReadOnlyList<string> words = FeelWords.Describe(study.Feel);
        FoldedBar? folded = _whole ? Desk.Fold(study) : null;
        lock (_showing)
        {
            if (_study is { } shown && shown.Revision > study.Revision)
                return;
            if (!ReferenceEquals(_study, study))
                (_sheetIsOld, _adopts) = (true, false);
            (_chart, _words, _folded, _study) = (chart, words, folded ?? _folded, study);
        }
    }

    private string ChartOrReason(Study study)
    {
        try
        {
            return Desk.Chart(study, _played);
        }
        catch (InputException reason)
        {
            return $"<p>{System.Net.WebUtility.HtmlEncode(reason.Message)}</p>";
        }
    }

    /// <summary>Someone else's change, or this page's own, which it has drawn already.</summary>
    private void OnDeskChanged(string id, Study? changed) => _ = InvokeAsync(async () =>
    {
        if (id != Id || _study is null || (changed is not null && changed.Revision <= _study.Revision))
            return;
        if (changed is null)
        {
            _study = null;
            _trouble = "It was deleted a moment ago. The library can bring it back until the bench is closed.";
        }
        else
        {
            await Task.Run(() => Show(changed));
        }

        StateHasChanged();
    });

    private Task ChangeAsync(StudyChange edit) => MakeAsync(() => Desk.Do(Id, edit), edit);

    private Task UndoAsync() => MakeAsync(() => Desk.Undo(Id), null);

    private Task RedoAsync() => MakeAsync(() => Desk.Redo(Id), null);

    private async Task MakeAsync(Func<Study?> make, StudyChange? edit)
    {
        _message = "";
        try
        {
            await Task.Run(() =>
            {
                if (make() is { } changed)
                    Show(changed);
            });
            _picked = AfterEdit(_picked, edit);
        }
        catch (InputException reason)
        {
            _message = reason.Message;
        }

        StateHasChanged();
    }

    /// <summary>The stroke that was picked, under its new name when the edit gave it one.</summary>
    private static StrokeRef? AfterEdit(StrokeRef? picked, StudyChange? edit) => edit switch
    {
        ChartEdited { Edit: ShiftStroke shifted } when shifted.Stroke == picked => picked with { Time = shifted.To },
        ChartEdited { Edit: RepieceStroke turned } when turned.Stroke == picked => picked with { Piece = turned.Piece },
        ChartEdited { Edit: DeleteStroke deleted } when deleted.Stroke == picked => null,
        _ => picked,
    };

    private async Task LookAsync(bool played)
    {
        _played = played;
        _adopts = false;
        if (_study is { } study)
            await Task.Run(() => _chart = ChartOrReason(study));
        _sheetIsOld = true;
    }

    private Task PickAsync(int? hit)
    {
        _picked = hit is { } index && index >= 0 && index < _study?.Performance.Hits.Count
            ? new StrokeRef(_study.Performance.Hits[index].Piece.Id(), _study.Performance.Hits[index].Time.TotalSeconds)
            : null;
        StateHasChanged();
        return _picked is null && _sheet is not null ? _sheet.InvokeVoidAsync("letGo").AsTask() : Task.CompletedTask;
    }

    private Task CutAsync(double from, double to)
    {
        try
        {
            if (_study is not { } study || !double.IsFinite(from) || !double.IsFinite(to))
                return Task.CompletedTask;
            Pulse pulse = study.Performance.Pulse;
            BarPosition first = pulse.PositionAt(new Fraction((long)Math.Round(pulse.BeatsAt(AudioTime.FromSeconds(from)))));
            Intake.StudyPassage(study, AudioTime.FromSeconds(Math.Max(0, from)), AudioTime.FromSeconds(to), $"{study.Name}, from bar {first.Bar}{(first.Beat == 1 ? "" : $", beat {first.Beat}")}");
            _message = "This loop is being studied on its own; the library shows how far it is.";
        }
        catch (InputException reason)
        {
            _message = reason.Message;
        }

        StateHasChanged();
        return Task.CompletedTask;
    }

    private async Task<string> Answer(Func<Task> act)
    {
        await InvokeAsync(act);
        return _message;
    }
}
