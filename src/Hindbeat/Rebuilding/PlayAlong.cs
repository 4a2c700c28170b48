using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Sound;
using Hindbeat.Units;

namespace Hindbeat.Rebuilding;

/// <summary>What sounds while a take is played.</summary>
public enum PlayAlongOver
{
    /// <summary>A steady click.</summary>
    Click,

    /// <summary>The rebuild, by the dials.</summary>
    Rebuild,

    /// <summary>The recording itself, slowed with its attacks kept where asked.</summary>
    Recording,

    /// <summary>The count-in, then nothing: the player keeps the time.</summary>
    Nothing,
}

/// <summary>How a passage is laid out to be played along with.</summary>
public sealed record PlayAlongOptions
{
    public const int MostRounds = 32;

    public PlayAlongOver Over { get; init; }

    /// <summary>Share of the passage's own tempo, 0.25 to 1.5.</summary>
    public double Share { get; init; } = 1;

    public int CountInBars { get; init; } = 1;
    public int Rounds { get; init; } = 4;

    /// <summary>Of a rebuild; its tempo is <see cref="Share"/>'s.</summary>
    public Dials Dials { get; init; } = Dials.AsPlayed;

    /// <summary>First bar of the loop; null = the passage's first.</summary>
    public int? FirstBar { get; init; }

    /// <summary>Last bar of the loop; null = the passage's last.</summary>
    public int? LastBar { get; init; }
}

/// <summary>Bars of a passage, counted in and repeated, to play a take over: their sound, and the pulse that the take is held against.</summary>
/// <param name="Pulse">On the sound's own clock; bars are numbered on from the loop's first through all rounds, as takes are.</param>
/// <param name="Start">When the first round's bar line sounds, seconds of the sound.</param>
/// <param name="Round">Length of one round.</param>
/// <param name="Times">Pairs [second of the sound, second of the recording] of the first round's beats and its end, rising.</param>
public sealed record PlayAlong(StereoSound Sound, Pulse Pulse, Seconds Start, Seconds Round, IReadOnlyList<(double Sound, double Recording)> Times)
{
    /// <summary>Silence before the count-in: a first click on the first sample could be cut off.</summary>
    private const double LeadSeconds = 0.25;

    /// <summary>After the last round, so that its last stroke is heard and recorded to its end.</summary>
    private const double TailSeconds = 1;

    /// <summary>A stroke so little before a bar line belongs to the bar (early players exist; a 32nd at 120 bpm is 62 ms).</summary>
    private const double EarlySeconds = 0.05;

    private const double BlendSeconds = 0.006;
    private const double TargetLufs = -23;
    private const double MostSeconds = 20 * 60;
    private const int Rate = 44100;

    /// <param name="recording">The passage's sound from <paramref name="recordedFrom"/> on; needed only to play over it.</param>
    /// <exception cref="InputException">An option is out of range, there is no such bar, or no recording to play over.</exception>
    public static PlayAlong Make(Performance performance, FeelReport feel, Kit kit, StereoSound? recording, AudioTime recordedFrom, PlayAlongOptions options)
    {
        ArgumentNullException.ThrowIfNull(performance);
        ArgumentNullException.ThrowIfNull(options);
        Plan plan = Plan.Of(performance, options);
        PlannedClick[] clicks = [.. plan.Clicks(options)];
        RenderOptions render = new() { From = AudioTime.Zero, To = AudioTime.FromSeconds(plan.Seconds), Clicks = clicks, TargetLufs = TargetLufs };
        StereoSound sound = options.Over switch
        {
            PlayAlongOver.Rebuild => Renderer.Render([.. plan.Repeated(RebuildPlan.Make(performance, feel, plan.Dials))], kit, Rate, render),
            PlayAlongOver.Recording => OverRecording(plan, performance, recording ?? throw new InputException("The recording is not there, so it cannot be played over; take a rebuild or a click."), recordedFrom, options, kit, render),
            _ => Renderer.Render([], kit, Rate, render),
        };
        return new PlayAlong(sound, plan.Pulse, Units.Seconds.Of(plan.Origin), Units.Seconds.Of(plan.Round), plan.Times(performance.Pulse));
    }

    /// <summary>The pulse alone, as <see cref="Make"/> gives it.</summary>
    /// <exception cref="InputException">As for <see cref="Make"/>.</exception>
    public static Pulse PulseOf(Performance performance, PlayAlongOptions options) => Plan.Of(performance, options).Pulse;

    /// <summary>The passage cut down to the bars that are looped: what the take is held against.</summary>
    /// <exception cref="InputException">No strokes are written there.</exception>
    public static Performance Looped(Performance performance, PlayAlongOptions options)
    {
        (int first, int last) = Plan.BarsOf(performance, options);
        return new Performance(performance.Pulse, performance.Hits.Where(hit => hit.Position is { } place && place.Bar >= first && place.Bar <= last));
    }

    private static StereoSound OverRecording(Plan plan, Performance performance, StereoSound recording, AudioTime from, PlayAlongOptions options, Kit kit, RenderOptions render)
    {
        StereoSound slowed = options.Share == 1 ? recording : SlowedOriginal.Make(recording, from, performance, options.Share);
        int rate = slowed.SampleRate, length = (int)Math.Ceiling(plan.Seconds * rate);
        var sound = new StereoSound(new float[length], new float[length], rate);
        double first = (plan.FirstLine - from.TotalSeconds) / options.Share;
        for (int round = 0; round < options.Rounds; round++)
        {
            Blend(slowed.Left, sound.Left, first, plan.Origin + (round * plan.Round), plan.Round, rate);
            Blend(slowed.Right, sound.Right, first, plan.Origin + (round * plan.Round), plan.Round, rate);
        }

        double lufs = Loudness.IntegratedLufs(sound);
        float gain = double.IsFinite(lufs) ? (float)Math.Min(1, Math.Pow(10, (TargetLufs - lufs) / 20)) : 1;
        StereoSound clicks = Renderer.Render([], kit, rate, render);
        for (int i = 0; i < length; i++)
        {
            sound.Left[i] = (gain * sound.Left[i]) + (i < clicks.Left.Length ? clicks.Left[i] : 0);
            sound.Right[i] = (gain * sound.Right[i]) + (i < clicks.Right.Length ? clicks.Right[i] : 0);
        }

        return sound;
    }

    /// <summary>Adds a stretch, a little longer at both ends, where it fades against its neighbours; the shares of two that meet sum to one.</summary>
    private static void Blend(float[] source, float[] target, double from, double to, double seconds, int rate)
    {
        int blend = (int)(BlendSeconds * rate), count = (int)Math.Round(seconds * rate);
        // Cut a little before the bar line: strokes on the first beat may come early.
        int early = (int)(EarlySeconds * rate), first = (int)Math.Round(from * rate) - early, at = (int)Math.Round(to * rate) - early;
        for (int i = -blend; i < count + blend; i++)
        {
            if (first + i < 0 || first + i >= source.Length || at + i < 0 || at + i >= target.Length)
                continue;
            double share = Math.Clamp(Math.Min((i + blend + 0.5) / (2 * blend), (count + blend - i - 0.5) / (2 * blend)), 0, 1);
            target[at + i] += (float)share * source[first + i];
        }
    }

    /// <summary>Where everything lies.</summary>
    private sealed record Plan(Dials Dials, Pulse Heard, Pulse Pulse, int First, int Last, double HeardLine, double FirstLine, double Origin, double Round, int Rounds, double Beat)
    {
        public double Seconds => Origin + (Rounds * Round) + TailSeconds;

        public static Plan Of(Performance performance, PlayAlongOptions options)
        {
            if (!(options.Share >= 0.25 && options.Share <= 1.5))
                throw new InputException(FormattableString.Invariant($"{100 * options.Share:0} % of the passage's tempo cannot be played along with; give 25 to 150."));
            if (options.Rounds is < 1 or > PlayAlongOptions.MostRounds)
                throw new InputException($"{options.Rounds} rounds cannot be made; give 1 to {PlayAlongOptions.MostRounds}.");
            if (options.CountInBars is < 0 or > ClickOptions.MostCountInBars)
                throw new InputException($"A count-in of {options.CountInBars} bars cannot be made; give 0 to {ClickOptions.MostCountInBars}.");
            (int first, int last) = BarsOf(performance, options);
            var tempo = Bpm.Of(performance.Pulse.MeanTempo.Value * options.Share);
            Dials dials = (options.Over is PlayAlongOver.Click or PlayAlongOver.Nothing ? Dials.AsWritten : options.Over == PlayAlongOver.Recording ? Dials.AsPlayed : options.Dials) with { TempoTo = tempo };
            Pulse heard = RebuildTempo.PulseOf(performance, dials);
            double start = Line(heard, first).TotalSeconds, round = Line(heard, last + 1).TotalSeconds - start;
            int perRound = (last - first + 1) * performance.Meter.BeatsPerBar;
            double beat = round / perRound, origin = LeadSeconds + (options.CountInBars * performance.Meter.BeatsPerBar * beat);
            if (origin + (options.Rounds * round) > MostSeconds)
                throw new InputException($"{options.Rounds} rounds of these bars last longer than {MostSeconds / 60:0} minutes; take fewer, and rest between them.");
            int firstIndex = (int)heard.BeatsFromFirst(new BarPosition(first, 1, Fraction.Zero)).Floor();
            List<Beat> beats = [];
            for (int i = 0; i <= options.Rounds * perRound; i++)
            {
                (int turn, int inRound) = (i / perRound, i % perRound);
                double time = origin + (turn * round) + (heard.TimeAt((double)firstIndex + inRound).TotalSeconds - start);
                beats.Add(new Beat(AudioTime.FromSeconds(time), first + (i / performance.Meter.BeatsPerBar), 1 + (i % performance.Meter.BeatsPerBar)));
            }

            var pulse = new Pulse(performance.Meter, beats, 1, PulseSource.Click);
            return new Plan(dials, heard, pulse, first, last, start, Line(performance.Pulse, first).TotalSeconds, origin, round, options.Rounds, beat);
        }

        public static (int First, int Last) BarsOf(Performance performance, PlayAlongOptions options)
        {
            int[] bars = [.. performance.PlacedHits().Select(placed => placed.Position.Bar).Distinct().Order()];
            if (bars.Length == 0)
                throw new InputException("The passage has no written strokes that could be played along with.");
            (int first, int last) = (Math.Max(1, bars[0]), bars[^1]);
            (int from, int to) = (options.FirstBar ?? first, options.LastBar ?? last);
            return from >= first && to <= last && from <= to ? (from, to) : throw new InputException($"Bars {from} to {to} are not in the passage; it has bars {first} to {last}.");
        }

        public IEnumerable<PlannedClick> Clicks(PlayAlongOptions options)
        {
            int perBar = Pulse.Meter.BeatsPerBar;
            for (int i = options.CountInBars * perBar; i > 0; i--)
                yield return new PlannedClick(AudioTime.FromSeconds(Origin - (i * Beat)), i % perBar == 0 ? ClickKind.First : ClickKind.Beat, 0, 0);
            if (options.Over != PlayAlongOver.Click)
            {
                // Something must sound, or there is nothing to render: without a count-in, one click on the first bar line.
                if (options.CountInBars == 0 && options.Over != PlayAlongOver.Rebuild)
                    yield return new PlannedClick(AudioTime.FromSeconds(Origin), ClickKind.First, 0, 0);
                yield break;
            }

            foreach (Beat beat in Pulse.Beats.SkipLast(1))
                yield return new PlannedClick(beat.Time, beat.Number == 1 ? ClickKind.First : ClickKind.Beat, 0, 0);
        }

        public IEnumerable<PlannedStroke> Repeated(IReadOnlyList<PlannedStroke> strokes)
        {
            PlannedStroke[] looped = [.. strokes.Where(stroke => stroke.Time.TotalSeconds >= HeardLine - EarlySeconds && stroke.Time.TotalSeconds < HeardLine + Round - EarlySeconds)];
            for (int turn = 0; turn < Rounds; turn++)
            {
                foreach (PlannedStroke stroke in looped)
                    yield return stroke with { Time = AudioTime.FromSeconds(stroke.Time.TotalSeconds - HeardLine + Origin + (turn * Round)) };
            }
        }

        public IReadOnlyList<(double Sound, double Recording)> Times(Pulse recorded)
        {
            int beats = (Last - First + 1) * recorded.Meter.BeatsPerBar;
            double firstIndex = Heard.BeatsFromFirst(new BarPosition(First, 1, Fraction.Zero)).ToDouble();
            return [.. Enumerable.Range(0, beats + 1).Select(i => (Origin + Heard.TimeAt(firstIndex + i).TotalSeconds - HeardLine, recorded.TimeAt(firstIndex + i).TotalSeconds))];
        }

        private static AudioTime Line(Pulse pulse, int bar) => pulse.TimeAt(new BarPosition(bar, 1, Fraction.Zero));
    }
}
