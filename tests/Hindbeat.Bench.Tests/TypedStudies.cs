using System.Globalization;
using System.Text;
using Hindbeat.Bench.Desk;
using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Sound;
using Hindbeat.Studies;
using Hindbeat.Units;

namespace Hindbeat.Bench.Tests;

/// <summary>Studies made of typed-in numbers.</summary>
internal sealed class TypedStudies : IStudySource
{
    private const int Rate = 44100;
    private readonly Study[] _studies = [Make("evening-shuffle", "Evening shuffle, take 3", 92.4, source: Path.Combine(AppContext.BaseDirectory, "Hindbeat.Bench.Tests.dll")), Make("gone", "A study whose file is gone", 104, source: "/nowhere/lost take.wav")];

    public IReadOnlyList<Study> List() => _studies;
    public Study? Find(string id) => _studies.FirstOrDefault(study => study.Id == id);

    public IReadOnlyList<string> Chart(Study study)
    {
        var svg = new StringBuilder("<svg viewBox='0 0 1000 160' role='img' aria-label='Chart'>");
        var hits = study.Performance.Hits;
        for (int i = 0; i < hits.Count; i++)
        {
            double x = 20 + (study.Performance.Pulse.BeatsFromFirst(hits[i].Position!.Value).ToDouble() * 58);
            svg.Append(CultureInfo.InvariantCulture, $"<circle data-hit='{i}' cx='{x:0.0}' cy='{(hits[i].Piece == KitPiece.Kick ? 120 : hits[i].Piece == KitPiece.Snare ? 80 : 30)}' r='5' fill='currentColor'/>");
        }

        return [svg.Append("</svg>").ToString()];
    }

    public IReadOnlyList<string> InWords(Study study) => ["The 16ths of the closed hat swing 1.62 to 1.", "The kick lies 18 ms behind the closed hat."];
    public StereoSound? Original(Study study) => File.Exists(study.Source) ? Sound(study) : null;
    public IReadOnlyList<double[]> RebuildTimes(Study study, RebuildVersion version) => [[0, study.From.TotalSeconds], [(study.To - study.From).Value, study.To.TotalSeconds]];
    public StereoSound Rebuild(Study study, RebuildVersion version) => Sound(study);

    public IReadOnlyList<(float Low, float High)>? Waveform(Study study, int columns)
    {
        if (Original(study) is not { } sound)
            return null;
        int step = sound.Left.Length / columns;
        return [.. Enumerable.Range(0, columns).Select(c => (sound.Left.Skip(c * step).Take(step).Min(), sound.Left.Skip(c * step).Take(step).Max()))];
    }

    private static StereoSound Sound(Study study)
    {
        var samples = new float[(int)((study.To - study.From).Value * Rate)];
        foreach (Hit hit in study.Performance.Hits)
        {
            int start = (int)((hit.Time - study.From).Value * Rate);
            double hertz = hit.Piece == KitPiece.Kick ? 70 : hit.Piece == KitPiece.Snare ? 220 : 6000;
            for (int i = 0; i < 6000 && start + i < samples.Length; i++)
                samples[start + i] += (float)(hit.Velocity / 300.0 * Math.Exp(-i / 1500.0) * Math.Sin(2 * Math.PI * hertz * i / Rate));
        }

        return new StereoSound(samples, samples, Rate);
    }

    private static Study Make(string id, string name, double bpm, string source)
    {
        Pulse pulse = Pulse.Steady(Meter.FourFour, Bpm.Of(bpm), AudioTime.FromSeconds(2.5), 17, source: PulseSource.Tracked);
        var hits = new List<Hit>();
        double[] wander = [-3, 2, 4, -1, 1, -4, 3, 0, 2, -2, 5, -3];
        int n = 0;
        for (int bar = 1; bar <= 4; bar++)
        {
            for (int beat = 1; beat <= 4; beat++)
            {
                for (int part = 0; part < 4; part++)
                {
                    if (part % 2 == 1 && beat % 2 == 1)
                        continue;
                    var place = new BarPosition(bar, beat, new Fraction(part, 4));
                    double swing = part % 2 == 1 ? 0.059 * pulse.BeatLengthAt(pulse.TimeAt(place)).Milliseconds : 0;
                    Add(place, KitPiece.HatClosed, part == 0 ? 96 : 60, swing, part == 0 ? HitMarks.Accent : HitMarks.None);
                }

                Add(new BarPosition(bar, beat, Fraction.Zero), beat % 2 == 0 ? KitPiece.Snare : KitPiece.Kick, 110, beat % 2 == 0 ? 6 : 18, HitMarks.None);
                if (beat == 3)
                    Add(new BarPosition(bar, beat, new Fraction(1, 2)), KitPiece.Kick, 90, 18, HitMarks.None);
                if (beat == 2)
                    Add(new BarPosition(bar, beat, new Fraction(3, 4)), KitPiece.Snare, 26, 30, HitMarks.Ghost);
            }
        }

        var doubts = new[] { new Typed("Four bars are few: the intervals are wide.") };
        var feel = new FeelReport(
            FeelReference.TimekeepingHand, "closed hat",
            [new SwingFigure(SwingLevel.Sixteenth, [KitPiece.HatClosed], new Estimate(1.62, 1.55, 1.69), 16, SwingVerdict.Swung, [])],
            [
                new LayBackFigure(KitPiece.Kick, new Estimate(18.2, 15.9, 20.4), 0.028, 12, true, []),
                new LayBackFigure(KitPiece.Snare, new Estimate(6.1, 3.2, 8.8), 0.009, 8, true, [new Typed("Only the backbeats are counted.")]),
            ],
            [new LoosenessFigure(KitPiece.HatClosed, new Estimate(3.1, 2.2, 4.4), 48, []), new LoosenessFigure(KitPiece.Kick, new Estimate(2.6, 1.4, 3.9), 12, [])],
            [new TouchFigure(KitPiece.Snare, 2, new Fraction(3, 4), new Estimate(-31, -33, -29), 4)],
            new TempoFigure(Bpm.Of(bpm), new Estimate(0.4, -0.9, 1.6), [.. pulse.Beats.Select(beat => (beat.Time, Bpm.Of(bpm)))]),
            doubts);
        return new Study(
            id, name, new DateTimeOffset(2026, 1, 5, 20, 0, 0, TimeSpan.Zero), source,
            new SoundInfo(Path.GetFileName(source), 180, Rate, 2, new string('0', 64), "WAV, 24 bit", []),
            AudioTime.FromSeconds(2.2), pulse.Beats[^1].Time, new Performance(pulse, hits), feel, "half as fast, 46.2 bpm", "typed in", []);

        void Add(BarPosition place, KitPiece piece, int velocity, double lateMs, HitMarks marks) =>
            hits.Add(new Hit(
                pulse.TimeAt(place) + Seconds.FromMilliseconds(lateMs + wander[n++ % wander.Length]), piece, velocity,
                Level.FromDbfs(-40 + (velocity / 4.0)), n % 29 == 0 ? 0.4 : 0.95)
            { Position = place, Marks = marks });
    }

    private sealed record Typed(string Sentence) : Doubt
    {
        public override string Text => Sentence;
    }
}
