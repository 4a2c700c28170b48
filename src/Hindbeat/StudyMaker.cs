using Hindbeat.Feel;
using Hindbeat.Listening;
using Hindbeat.Performances;
using Hindbeat.Pulses;
using Hindbeat.Sound;
using Hindbeat.Studies;
using Hindbeat.Units;

namespace Hindbeat;

/// <summary>The front door: a recording or an electronic kit's MIDI file goes in, a study comes out.</summary>
public static class StudyMaker
{
    /// <summary>
    /// A passage is at most this long. Half an hour of drumming is some 20,000 strokes; what is longer is a
    /// concert, whose pieces are to be studied one by one.
    /// </summary>
    public static readonly Seconds LongestPassage = Seconds.Of(30 * 60);

    /// <param name="path">A sound, video or MIDI file; the kind is told from its content.</param>
    /// <exception cref="InputException">The file cannot be used; the message says why in one line.</exception>
    /// <exception cref="OperationCanceledException">Cancelled.</exception>
    public static Study Make(
        string path, StudyOptions? options = null, IProgress<StudyProgress>? progress = null, CancellationToken cancel = default)
    {
        ArgumentNullException.ThrowIfNull(path);
        options ??= new StudyOptions();
        if (options.From is { } from && options.To is { } to && to <= from)
            throw new InputException($"The passage ends at {to} before it starts at {from}; were the two mixed up?");
        return IsMidi(path) ? FromMidi(path, options, progress) : FromSound(path, options, progress, cancel);
    }

    private static Study FromSound(string path, StudyOptions options, IProgress<StudyProgress>? progress, CancellationToken cancel)
    {
        using LoadedSound sound = SoundLoader.Load(path, Stage(progress, StudyStage.Reading), cancel);
        (AudioTime from, AudioTime to) = Passage(options, sound.Info.Seconds);
        IListener listener = options.Listener ?? LearnedListener.OrSignal();
        ListeningResult heard = listener.Listen(sound.Analysis, (from, to), Stage(progress, StudyStage.Listening), cancel);
        progress?.Report(new StudyProgress(StudyStage.Pulse, 0));
        PulseResult pulse = PulseFinder.Find(heard.Hits, heard.Strength, PulseOptionsOf(options));
        cancel.ThrowIfCancellationRequested();
        return Finish(path, options, progress, sound.Info, from, to, pulse, listener.Name, [.. sound.Info.Doubts, .. heard.Doubts], CurveOf(heard.Strength));
    }

    private static Study FromMidi(string path, StudyOptions options, IProgress<StudyProgress>? progress)
    {
        progress?.Report(new StudyProgress(StudyStage.Reading, 0));
        KitMidi midi = KitMidiFile.Read(path);
        (AudioTime from, AudioTime to) = Passage(options, midi.Hits[^1].Time.TotalSeconds + 1.0);
        List<Hit> hits = [.. midi.Hits.Where(hit => hit.Time >= from && hit.Time <= to)];
        if (hits.Count < 2)
            throw new InputException($"There {(hits.Count == 1 ? "is one stroke" : "are no strokes")} between {from} and {to}; choose a longer passage.");
        progress?.Report(new StudyProgress(StudyStage.Pulse, 0));

        // The file's own grid is the click it was played to, or an idle 120 bpm that nobody heard; the strokes tell which.
        bool ownGrid = midi.HasTempo && options is { Tempo: null, Meter: null, BarOne: null } && FollowsGrid(midi.Grid, hits);
        PulseResult pulse = ownGrid
            ? PulseCorrector.Apply(PulseFinder.PlaceOn(Around(midi.Grid, hits), hits), options.Corrections)
            : PulseFinder.Find(hits, null, PulseOptionsOf(options));
        return Finish(path, options, progress, null, from, to, pulse, "electronic kit", []);
    }

    private static Study Finish(
        string path, StudyOptions options, IProgress<StudyProgress>? progress, SoundInfo? recording,
        AudioTime from, AudioTime to, PulseResult pulse, string listener, IReadOnlyList<Doubt> doubts, StrengthCurve? strength = null)
    {
        progress?.Report(new StudyProgress(StudyStage.Feel, 0));
        var feelOptions = new FeelOptions { Reference = options.Reference, Hearing = recording is null ? null : HearingError.Measured };
        FeelReport feel = FeelAnalysis.Measure(pulse.Performance, feelOptions, strength, options.Against?.PlacedOn(pulse.Performance.Pulse));
        progress?.Report(new StudyProgress(StudyStage.Feel, 1));
        var study = new Study(
            options.Id ?? string.Empty,
            options.Name ?? Path.GetFileNameWithoutExtension(path),
            options.Created,
            Path.GetFullPath(path),
            recording, from, to, pulse.Performance, feel, pulse.RunnerUp, listener,
            [.. doubts, .. pulse.Doubts])
        {
            Corrections = options.Corrections,
            Stated = PulseOptionsOf(options) with { Corrections = [] },
            Against = options.Against,
        };
        return StudyEditor.Replay(study, options.Edits);
    }

    /// <summary>
    /// Listens to a study's recording again, with the same passage, name and id; what a person has corrected and edited is done
    /// again.
    /// </summary>
    /// <param name="listener">Null = the default listener.</param>
    /// <exception cref="InputException">The study has no recording, or it is no longer there.</exception>
    public static Study Again(Study study, IListener? listener = null, IProgress<StudyProgress>? progress = null, CancellationToken cancel = default)
    {
        ArgumentNullException.ThrowIfNull(study);
        if (study.Source is null)
            throw new InputException($"{study.Name} was not made from a file, so there is nothing to listen to again.");
        return Make(study.Source, new StudyOptions
        {
            From = study.From,
            To = study.To,
            Tempo = study.Stated.Tempo,
            Meter = study.Stated.Meter,
            BarOne = study.Stated.BarOne,
            Shape = study.Stated.Shape,
            Corrections = study.Corrections,
            Edits = study.Edits,
            Reference = study.Against is null ? study.Feel.Options.Reference : null,
            Against = study.Against,
            Name = study.Name,
            Id = study.Id,
            Created = study.Created,
            Listener = listener,
        }, progress, cancel) with { Tags = study.Tags, Revision = study.Revision + 1 };
    }

    /// <summary>The strokes of another track to measure against: a recording that starts with this one, or a kit's MIDI file.</summary>
    /// <param name="name">In words, as it stands after "the".</param>
    /// <param name="options">From, to and listener are used.</param>
    /// <exception cref="InputException">The file cannot be used; the message says why in one line.</exception>
    public static KeptTrack ReadTrack(string path, string name, StudyOptions options, CancellationToken cancel = default)
    {
        ArgumentNullException.ThrowIfNull(path);
        ArgumentNullException.ThrowIfNull(options);
        if (IsMidi(path))
        {
            KitMidi midi = KitMidiFile.Read(path);
            (AudioTime first, AudioTime last) = Passage(options, midi.Hits[^1].Time.TotalSeconds + 1.0);
            return new KeptTrack(name, [.. midi.Hits.Where(hit => hit.Time >= first && hit.Time <= last)]);
        }

        using LoadedSound sound = SoundLoader.Load(path, null, cancel);
        (AudioTime from, AudioTime to) = Passage(options, sound.Info.Seconds);
        return new KeptTrack(name, (options.Listener ?? LearnedListener.OrSignal()).Listen(sound.Analysis, (from, to), null, cancel).Hits);
    }

    /// <summary>
    /// A study whose pulse a person corrects. Nothing is listened to again: the strokes stay, what depends on the pulse
    /// (written places, feel, doubts about the pulse) is made anew, and the study keeps the corrections. Edits of the chart are
    /// done again, each at the time it was made for.
    /// </summary>
    /// <exception cref="InputException">A correction that this pulse does not allow.</exception>
    public static Study Correct(Study study, IReadOnlyList<PulseCorrection> corrections)
    {
        ArgumentNullException.ThrowIfNull(study);
        ArgumentNullException.ThrowIfNull(corrections);
        return PulseChanges.Correct(study, corrections);
    }

    /// <summary>All bands of the onset strength as one curve.</summary>
    private static StrengthCurve CurveOf(OnsetStrength strength)
    {
        double[] all = new double[strength.Frames];
        foreach (float[] band in strength.Bands)
        {
            for (int i = 0; i < all.Length; i++)
                all[i] += band[i];
        }

        return new StrengthCurve(all, strength.FrameRate, strength.Start.TotalSeconds);
    }

    private static (AudioTime From, AudioTime To) Passage(StudyOptions options, double seconds)
    {
        AudioTime from = options.From ?? AudioTime.Zero;
        AudioTime end = AudioTime.FromSeconds(seconds);
        AudioTime to = options.To is { } wanted && wanted < end ? wanted : end;
        if (from >= end)
            throw new InputException($"The passage starts at {from}, but the recording is only {Clock(seconds)} long.");
        if (to - from > LongestPassage)
            throw new InputException($"This passage is {Clock((to - from).Value)} long; the longest that is studied at once is {Clock(LongestPassage.Value)}. Choose a part with --from and --to.");
        return (from, to);
    }

    private static string Clock(double seconds) => seconds < 60
        ? FormattableString.Invariant($"{seconds:0.00} s")
        : FormattableString.Invariant($"{(int)(seconds / 60)} min {(int)(seconds % 60)} s");

    private static PulseOptions PulseOptionsOf(StudyOptions options) =>
        new() { Tempo = options.Tempo, Meter = options.Meter, BarOne = options.BarOne, Shape = options.Shape, Corrections = options.Corrections };

    /// <summary>
    /// Strokes that follow a grid lie near its sixteenths: half of them within 1/32 of a beat. Strokes that
    /// do not know the grid lie anywhere between two sixteenths, half of them farther than 1/16 of a beat.
    /// </summary>
    private static bool FollowsGrid(Pulse grid, List<Hit> hits)
    {
        double[] distances = [.. hits.Select(hit =>
        {
            double sixteenths = grid.BeatsAt(hit.Time) * 4.0;
            return Math.Abs(sixteenths - Math.Round(sixteenths)) / 4.0;
        }).Order()];
        return distances[distances.Length / 2] < 1.0 / 32.0;
    }

    /// <summary>
    /// The bars of a file's grid that the passage's strokes are in: bars before and after them are no part of it, and a loop or a lesson would play their
    /// silence. A stroke up to a 16th before a bar line may be that bar's, early.
    /// </summary>
    private static Pulse Around(Pulse grid, List<Hit> hits)
    {
        int BarOf(AudioTime time) => grid.PositionAt(new Fraction((long)Math.Floor(grid.BeatsAt(time) + 0.25))).Bar;
        int first = BarOf(hits.Min(hit => hit.Time)), last = BarOf(hits.Max(hit => hit.Time));
        Beat[] beats = [.. grid.Beats.Where(beat => beat.Bar >= first && (beat.Bar <= last || (beat.Bar == last + 1 && beat.Number == 1)))];
        return beats.Length < 2 ? grid : new Pulse(grid.MeterAt(beats[0].Bar), beats, grid.Confidence, grid.Source, [.. grid.Changes.Where(change => change.Bar > beats[0].Bar && change.Bar <= beats[^1].Bar)]);
    }

    private static bool IsMidi(string path)
    {
        try
        {
            using FileStream stream = File.OpenRead(path);
            Span<byte> start = stackalloc byte[4];
            return stream.ReadAtLeast(start, 4, throwOnEndOfStream: false) == 4 && start.SequenceEqual("MThd"u8);
        }
        catch (Exception reason) when (reason is FileNotFoundException or DirectoryNotFoundException)
        {
            throw new InputException($"There is no file {path}.", reason);
        }
        catch (Exception reason) when (reason is IOException or UnauthorizedAccessException)
        {
            throw new InputException($"{path} cannot be read: {reason.Message}", reason);
        }
    }

    private static Progress? Stage(IProgress<StudyProgress>? progress, StudyStage stage) =>
        progress is null ? null : new Progress(progress, stage);

    private sealed class Progress(IProgress<StudyProgress> whole, StudyStage stage) : IProgress<double>
    {
        public void Report(double value) => whole.Report(new StudyProgress(stage, value));
    }
}
