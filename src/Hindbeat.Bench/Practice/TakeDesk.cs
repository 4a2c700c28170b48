using System.Globalization;
using System.Security.Cryptography;
using Hindbeat.Bench.Adding;
using Hindbeat.Bench.Desk;
using Hindbeat.Charting;
using Hindbeat.Performances;
using Hindbeat.Rebuilding;
using Hindbeat.Sound;
using Hindbeat.Studies;
using Hindbeat.Takes;
using Hindbeat.Units;

namespace Hindbeat.Bench.Practice;

/// <summary>Takes played at the bench: heard, laid on their passage, compared, kept beside the study. It works nothing out itself.</summary>
public sealed class TakeDesk(StudyDesk desk, StudySounds sounds)
{
    private const int KeptResults = 8;

    /// <summary>Millimetres; as wide as the chart.</summary>
    private const double PictureWidth = 200;

    private readonly TakeShelf _shelf = new(StudyLibrary.Open(desk.Folder));
    private readonly Kept<TakeComparisonResult?> _results = new(KeptResults);

    /// <summary>A take of a study (its id) was kept. Raised on any thread.</summary>
    public event Action<string>? TakeKept;

    /// <exception cref="InputException">An option is out of range, or there is no recording to play over.</exception>
    public PlayAlong PlayAlong(Study study, PlayAlongOptions options) => Rebuilding.PlayAlong.Make(
        study.Performance, study.Feel, HouseKit.Load(), options.Over == PlayAlongOver.Recording ? sounds.Original(study) : null, study.From, options);

    /// <summary>Keeps a recorded take.</summary>
    /// <param name="samples">From the moment at which the play-along began to sound.</param>
    /// <exception cref="InputException">It holds too few strokes, or plays something else; nothing is kept.</exception>
    public KeptTake Recorded(Study study, PracticeWish wish, float[] samples, int rate, CancellationToken cancel)
    {
        if (samples.Length < rate)
            throw new InputException("The take is shorter than a second.");
        string path = NewPath() + ".wav";
        WavFile.Write(path, new StereoSound(samples, samples, rate), bits: 24);
        try
        {
            Study heard = StudyMaker.Make(path, new StudyOptions { Created = desk.Now }, null, cancel);
            return Keep(study, wish, heard.Performance.Hits, heard: true, path);
        }
        catch
        {
            File.Delete(path);
            throw;
        }
    }

    /// <summary>An electronic kit's own delay, from strokes that a microphone heard and the notes that the kit told.</summary>
    /// <param name="notes">As for <see cref="Played"/>.</param>
    /// <param name="microphone">The microphone's own recording delay.</param>
    /// <exception cref="InputException">It is not known, or too few strokes were heard.</exception>
    public static Latency KitDelayOf(float[] samples, int rate, IReadOnlyList<double[]> notes, Latency? microphone)
    {
        if (microphone is null)
            throw new InputException("The microphone's own delay is not known yet: listen to the microphone first and measure its delay.");
        return KitDelay.Measure(samples, rate, [.. HitsOf(notes).Select(hit => (hit.Time, hit.Piece))], microphone);
    }

    /// <summary>Keeps a take that was recorded elsewhere: sound or an electronic kit's MIDI, any tempo, any number of rounds.</summary>
    /// <exception cref="InputException">As for <see cref="Recorded"/>, or nothing that can be read.</exception>
    public async Task<KeptTake> BroughtAsync(Study study, Stream body, string shownName, CancellationToken cancel)
    {
        string path = NewPath();
        try
        {
            await using (FileStream file = File.Create(path))
                await body.CopyToAsync(file, cancel).ConfigureAwait(false);
            return await Task.Run(() =>
            {
                Study heard = StudyMaker.Make(path, new StudyOptions { Created = desk.Now }, null, cancel);
                string name = Path.GetFileNameWithoutExtension(Intake.ShownName(shownName));
                return Keep(study, new PracticeWish(new PlayAlongOptions { Over = PlayAlongOver.Nothing }, null), heard.Performance.Hits, heard.Recording is not null, path, name);
            }, cancel).ConfigureAwait(false);
        }
        catch
        {
            File.Delete(path);
            throw;
        }
    }

    /// <summary>Keeps a take played on an electronic kit.</summary>
    /// <param name="notes">[second since the play-along began to sound, General MIDI key, velocity]</param>
    /// <exception cref="InputException">As for <see cref="Recorded"/>.</exception>
    public KeptTake Played(Study study, PracticeWish wish, IReadOnlyList<double[]> notes)
    {
        return Keep(study, wish with { Delay = wish.Delay is { } delay ? delay with { OfKit = true } : null }, HitsOf(notes), heard: false, null);
    }

    private static Hit[] HitsOf(IReadOnlyList<double[]> notes)
    {
        bool electronic = notes.Any(note => KitMidiKeys.ShowsElectronicKit((int)note[1]));
        return [.. notes
            .Where(note => KitMidiKeys.Find((int)note[1], electronic) is not null)
            .Select(note => new Hit(AudioTime.FromSeconds(note[0]), KitMidiKeys.Find((int)note[1], electronic)!.Value.Piece, (int)note[2], KitMidiFile.LevelOf((int)note[2]), 1))];
    }

    /// <summary>Oldest first.</summary>
    public IReadOnlyList<KeptTake> Of(Study study) => _shelf.Of(study.Id);

    /// <summary>How a kept take compares with its passage as that is now written; null when it no longer can be laid on it.</summary>
    public TakeComparisonResult? Result(Study study, KeptTake take) => _results.For($"{StudyDesk.KeyOf(study)} {take.Id}", () =>
    {
        try
        {
            return take.Compare(study.Performance);
        }
        catch (InputException)
        {
            return null;
        }
    });

    /// <summary>The take over its passage on one bar, as SVG without a title.</summary>
    public static string Picture(Study study, TakeComparisonResult result)
    {
        using var svg = new StringWriter();
        SvgPage.Write(TakeOverPassage.Draw(study.Performance, result, "", PageFormat.Scroll(PictureWidth)), svg);
        return svg.ToString();
    }

    private string NewPath() => OwnFiles.NewPath(desk.Files.Takes, RandomNumberGenerator.GetBytes(OwnFiles.NameBytes));

    /// <param name="heard">Whether the take's strokes were heard, not read from MIDI.</param>
    private KeptTake Keep(Study study, PracticeWish wish, IReadOnlyList<Hit> hits, bool heard, string? source, string? name = null)
    {
        Performance passage = LoopedOf(study, wish);
        Pulse? click = wish.Options.Over == PlayAlongOver.Nothing ? null : Rebuilding.PlayAlong.PulseOf(study.Performance, wish.Options);
        AlignedTake aligned = TakeAligner.Align(passage, hits, click, wish.Delay);
        TakeComparisonResult result = TakeComparison.Of(passage, aligned, TakeComparison.OptionsFor(heard || study.Feel.Options.Hearing is not null), wish.Delay);
        KeptTake take = _shelf.Keep(KeptTake.Of(study.Id, name ?? NameOf(study, wish), desk.Now, source, wish.Delay, result));
        _results.For($"{StudyDesk.KeyOf(study)} {take.Id}", () => result);
        TakeKept?.Invoke(study.Id);
        return take;
    }

    private static Performance LoopedOf(Study study, PracticeWish wish) =>
        wish.Options is { FirstBar: null, LastBar: null } ? study.Performance : Rebuilding.PlayAlong.Looped(study.Performance, wish.Options);

    private string NameOf(Study study, PracticeWish wish)
    {
        string over = wish.Options.Over switch
        {
            PlayAlongOver.Click => "over a click",
            PlayAlongOver.Rebuild => "over the rebuild",
            PlayAlongOver.Recording => "over the recording",
            _ => "alone",
        };
        string bars = wish.Options is { FirstBar: { } first, LastBar: { } last } ? string.Create(CultureInfo.InvariantCulture, $", bars {first}–{last}") : "";
        return string.Create(CultureInfo.InvariantCulture, $"Take {_shelf.Of(study.Id).Count + 1} {over}{bars}");
    }
}
