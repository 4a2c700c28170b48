using Hindbeat.Charting;
using Hindbeat.Pulses;
using Hindbeat.Studies;
using Hindbeat.Units;
using Microsoft.JSInterop;

namespace Hindbeat.Bench.Desk;

/// <summary>
/// What the page's script may ask for: changes that are made where pointer and sound are. Each answers with what went wrong, in one
/// line, or with nothing.
/// </summary>
/// <param name="change">Makes a change and draws the page anew.</param>
/// <param name="pick">A stroke was picked (its index) or let go (null).</param>
/// <param name="step">Back or forth in what was changed.</param>
/// <param name="cut">A stretch of the recording is to be studied on its own.</param>
/// <param name="draw">The page holds no chart that could be taken over.</param>
public sealed class StudyHand(Func<StudyChange, Task<string>> change, Func<int?, Task> pick, Func<bool, Task<string>> step, Func<double, double, Task<string>> cut, Func<Task> draw)
{
    [JSInvokable]
    public Task DrawChart() => draw();


    [JSInvokable]
    public Task Pick(int? hit) => pick(hit);

    [JSInvokable]
    public Task<string> MoveBeat(int bar, int beat, double time) => Moment(time, () => new PulseCorrected([new BeatMoved(bar, beat, AudioTime.FromSeconds(time))]));

    [JSInvokable]
    public Task<string> BarOne(double time) => Moment(time, () => new PulseCorrected([new BarOneSet(AudioTime.FromSeconds(time))]));

    [JSInvokable]
    public Task<string> Tapped(double[] taps) => change(new PulseTapped(taps));

    [JSInvokable]
    public Task<string> Shift(string piece, double time, double to) => change(new ChartEdited(new ShiftStroke(new StrokeRef(piece, time), to)));

    [JSInvokable]
    public Task<string> Turn(string piece, double time, string into) => change(new ChartEdited(new RepieceStroke(new StrokeRef(piece, time), into)));

    [JSInvokable]
    public Task<string> Add(string piece, double time) => change(new ChartEdited(new HearStroke(piece, time)));

    [JSInvokable]
    public Task<string> Delete(string piece, double time) => change(new ChartEdited(new DeleteStroke(new StrokeRef(piece, time))));

    [JSInvokable]
    public Task<string> Confirm(string piece, double time) => change(new ChartEdited(new ConfirmStroke(new StrokeRef(piece, time))));

    [JSInvokable]
    public Task<string> Step(bool back) => step(back);

    [JSInvokable]
    public Task<string> Cut(double from, double to) => cut(from, to);

    private Task<string> Moment(double seconds, Func<StudyChange> edit) =>
        double.IsFinite(seconds) ? change(edit()) : Task.FromResult("That is no moment of the recording.");
}
