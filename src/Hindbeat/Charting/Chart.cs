using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Charting;

/// <summary>
/// A passage written down for reading: bars of two voices, hands (stems up) and feet (stems down). Every
/// note knows which stroke of the performance it writes. All lengths and places are exact shares of a
/// whole note.
/// </summary>
public sealed record Chart
{
    public required string Title { get; init; }

    /// <summary>A line under the title: the player, the recording, the place in it. Null for none.</summary>
    public string? Subtitle { get; init; }

    /// <summary>The meter that the passage begins in; each bar has its own.</summary>
    public required Meter Meter { get; init; }

    /// <summary>Counted beats a minute.</summary>
    public required Bpm Tempo { get; init; }

    /// <summary>Null when the passage is straight, undecided, or written as it lies.</summary>
    public SwingDirection? Swing { get; init; }

    public required IReadOnlyList<ChartBar> Bars { get; init; }

    /// <summary>Lines and noteheads.</summary>
    public StaffMap Staff { get; init; } = StaffMap.Guidelines;

    /// <summary>Print the counts under the staff.</summary>
    public bool ShowCounts { get; init; }

    /// <summary>Measured figures for the foot of the page, each a short phrase with its interval.</summary>
    public IReadOnlyList<string> Figures { get; init; } = [];

    public IReadOnlyList<Doubt> Doubts { get; init; } = [];

    /// <summary>Every note, bar by bar, hands before feet.</summary>
    public IEnumerable<ChartNote> Notes() =>
        Bars.SelectMany(bar => bar.Voices).SelectMany(voice => voice.Events).SelectMany(happening => happening.Notes);
}

/// <summary>"swung 16ths (1.62 : 1)": the passage is written straight and read swung.</summary>
/// <param name="Ratio">Long : short, 1 = straight.</param>
public sealed record SwingDirection(SwingLevel Level, double Ratio)
{
    /// <summary>Share of the pair that the first note takes: R / (1 + R).</summary>
    public double LongShare => Ratio / (1.0 + Ratio);

    public override string ToString() =>
        FormattableString.Invariant($"swung {(Level == SwingLevel.Eighth ? "8ths" : "16ths")} ({Ratio:0.00} : 1)");
}

/// <param name="Number">As in the performance; 0 and below lie before bar 1.</param>
/// <param name="Start">Where the written bar begins within the whole bar; above 0 only in a pickup.</param>
/// <param name="Length">Written length: the meter's, less <paramref name="Start"/>.</param>
public sealed record ChartBar(int Number, Fraction Start, Fraction Length, ChartVoice Hands, ChartVoice Feet)
{
    public bool IsPickup => Start > 0;

    public required Meter Meter { get; init; }

    /// <summary>Tempo from each beat of the whole bar to the next.</summary>
    public IReadOnlyList<Bpm> BeatTempos { get; init; } = [];

    /// <summary>A repeated stretch begins here.</summary>
    public bool RepeatBegins { get; init; }

    /// <summary>Above 1: a repeated stretch ends here and is played so often in all.</summary>
    public int RepeatTimes { get; init; } = 1;

    public IEnumerable<ChartVoice> Voices => [Hands, Feet];
}

/// <summary>One voice of one bar; the events follow one another without gap and add up to the bar.</summary>
/// <param name="Beams">Runs of events under one beam, first and last index, both notes.</param>
public sealed record ChartVoice(IReadOnlyList<ChartEvent> Events, IReadOnlyList<Tuplet> Tuplets, IReadOnlyList<BeamRun> Beams)
{
    public bool IsSilent => Events.All(happening => happening.IsRest);
}

/// <summary>Events <paramref name="First"/> to <paramref name="Last"/> are <paramref name="Actual"/> units in the time of <paramref name="Normal"/>.</summary>
public sealed record Tuplet(int First, int Last, int Actual, int Normal, NoteValue Unit);

/// <summary>Events joined by a beam.</summary>
public readonly record struct BeamRun(int First, int Last);

/// <summary>A note, a chord of simultaneous strokes, or a rest.</summary>
/// <param name="At">Place from the start of the whole bar.</param>
/// <param name="Length">Sounding length (tuplets reckoned in).</param>
/// <param name="Value">Printed value; for a rest that fills the bar a whole rest, whatever the meter.</param>
/// <param name="Notes">From low to high on the staff; none for a rest.</param>
public sealed record ChartEvent(Fraction At, Fraction Length, NoteValue Value, IReadOnlyList<ChartNote> Notes)
{
    public bool IsRest => Notes.Count == 0;

    /// <summary>A rest that stands for the whole bar, centred in it.</summary>
    public bool FillsBar { get; init; }

    /// <summary>Counted but not printed: the silent voice of a bar in which the other plays.</summary>
    public bool Hidden { get; init; }

    public Fraction End => At + Length;
}

/// <summary>One written stroke.</summary>
/// <param name="Hit">Index of its hit in the performance.</param>
/// <param name="Velocity">1 to 127.</param>
/// <param name="Deviation">Played − written, positive = late.</param>
/// <param name="Graces">Small notes before it, in playing order: one for a flam, two for a drag.</param>
public sealed record ChartNote(
    int Hit, KitPiece Piece, HitMarks Marks, int Velocity, Seconds Deviation, IReadOnlyList<GraceNote> Graces)
{
    /// <summary>Of a typical bar's strokes; null elsewhere.</summary>
    public Occurrence? Seen { get; init; }

    /// <summary>The hand, where a person said which.</summary>
    public Sticking? Stick { get; init; }
}

/// <summary>How often a stroke of a typical bar occurs.</summary>
public readonly record struct Occurrence(int Bars, int OfBars);

/// <param name="Hit">Index of its own hit; null when the listening marked a flam without hearing two strokes apart.</param>
public sealed record GraceNote(int? Hit, KitPiece Piece, int Velocity);
