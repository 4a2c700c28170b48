using Hindbeat.Performances;
using Hindbeat.Sound;

namespace Hindbeat.Accuracy;

/// <summary>Renders a take with a recorded kit into a WAV file; the take's own times become exact truth.</summary>
internal static class TakeRenderer
{
    /// <summary>The take starts this long into the file, so that its first stroke has silence before it.</summary>
    public const double LeadSeconds = 0.5;

    private const int SincHalf = 16;

    /// <summary>A stroke this far under another within <see cref="MaskSeconds"/>, or that far under the loudest, is faint: decibels between peaks (as in training/planning.py).</summary>
    private const double FaintUnderNear = 29;
    private const double FaintUnderAll = 48;
    private const double MaskSeconds = 0.025;

    public static Truth Render(GrooveTakes.Take take, RecordedKit kit, double mostSeconds, string wav, double? musicDb = null, bool separate = false, bool articulated = false, Func<List<Hit>, List<Hit>>? altered = null)
    {
        KitMidi midi = KitMidiFile.Read(take.Path);
        var hits = midi.Hits.Where(hit => hit.Time.TotalSeconds <= mostSeconds).ToList();
        hits = altered?.Invoke(hits) ?? hits;
        if (articulated)
            hits = ArticulationReport.WithMarks(hits);
        var marks = new List<HitMarks>();
        var rings = new List<double?>();
        double end = hits[^1].Time.TotalSeconds + LeadSeconds + 2.0;
        var sound = new float[(int)(end * MonoSound.AnalysisRate)];
        var truth = new List<(double, KitPiece, int)>();
        var levels = new List<double>();
        var standsIn = new List<bool>();
        double hatCloses = double.PositiveInfinity;

        // Backwards in time, so that each open hat knows when the next hat stroke closes it.
        foreach (Hit hit in Enumerable.Reverse(hits))
        {
            HitMarks mark = articulated ? hit.Marks & (HitMarks.Rimshot | HitMarks.HalfOpen) : HitMarks.None;
            if (((mark == HitMarks.None ? null : kit.Marked(hit.Piece, mark, hit.Velocity)) ?? kit.Stroke(hit.Piece, hit.Velocity)) is not { } stroke)
                continue;
            marks.Add(kit.Has(hit.Piece, mark) ? mark : HitMarks.None);
            rings.Add(articulated && hit.Piece is KitPiece.HatClosed or KitPiece.HatOpen ? ArticulationReport.RingOfStroke(stroke.Samples) : null);
            double at = (hit.Time.TotalSeconds + LeadSeconds) * MonoSound.AnalysisRate;
            bool isHat = hit.Piece.Family() == PieceFamily.Hat;
            Add(sound, stroke.Samples, stroke.Gain, at, isHat ? hatCloses : double.PositiveInfinity);
            if (isHat)
                hatCloses = at;
            truth.Add((at / MonoSound.AnalysisRate, kit.Has(hit.Piece) ? hit.Piece : kit.StandIn(hit.Piece), hit.Velocity));
            standsIn.Add(!kit.Has(hit.Piece));
            levels.Add(20 * Math.Log10(Math.Max(1e-9, stroke.Gain * stroke.Samples.Max(Math.Abs))));
        }

        truth.Reverse();
        levels.Reverse();
        standsIn.Reverse();
        marks.Reverse();
        rings.Reverse();
        if (musicDb is { } level)
            HarmonicMusic.AddTo(sound, level);
        if (separate)
            PercussiveOnly.Keep(sound);
        float peak = 0f;
        foreach (float sample in sound)
            peak = Math.Max(peak, Math.Abs(sample));
        float scale = peak > 0 ? 0.8f / peak : 1f;
        for (int i = 0; i < sound.Length; i++)
            sound[i] *= scale;
        WavFile.Write(wav, new StereoSound(sound, sound, MonoSound.AnalysisRate), 24);

        // Constant click, tick 0 a downbeat (the data's own documentation).
        var beats = new List<double>();
        var downbeats = new List<double>();
        double beat = 60.0 / take.Bpm * 4.0 * take.Meter.BeatLength.ToDouble();
        for (int i = 0; LeadSeconds + (i * beat) <= hits[^1].Time.TotalSeconds + LeadSeconds; i++)
        {
            beats.Add(LeadSeconds + (i * beat));
            if (i % take.Meter.BeatsPerBar == 0)
                downbeats.Add(LeadSeconds + (i * beat));
        }

        return new Truth(take.Name, wav, truth, beats, downbeats, ExactTimes: true, Faint(truth, levels)) { Marks = marks, Rings = rings, Levels = levels, StandIns = standsIn };
    }

    private static HashSet<int> Faint(List<(double Time, KitPiece, int)> truth, List<double> levels)
    {
        double loudest = levels.Max();
        return [.. Enumerable.Range(0, truth.Count).Where(i => levels[i] <= loudest - FaintUnderAll
            || Enumerable.Range(0, truth.Count).Any(j => Math.Abs(truth[j].Time - truth[i].Time) < MaskSeconds && levels[i] <= levels[j] - FaintUnderNear))];
    }

    /// <summary>Adds a stroke that starts at a fractional sample (windowed sinc), faded out where a closing hat chokes it.</summary>
    private static void Add(float[] sound, float[] samples, float gain, double at, double chokeAt)
    {
        int whole = (int)Math.Floor(at);
        double fraction = at - whole;
        Span<float> taps = stackalloc float[2 * SincHalf];
        for (int k = 0; k < taps.Length; k++)
        {
            double x = k - SincHalf + 1 - fraction;
            double sinc = Math.Abs(x) < 1e-9 ? 1.0 : Math.Sin(Math.PI * x) / (Math.PI * x);
            taps[k] = (float)(sinc * (0.5 + (0.5 * Math.Cos(Math.PI * x / (SincHalf + 0.5)))));
        }

        double fadeLength = 0.03 * MonoSound.AnalysisRate;
        for (int i = -SincHalf; i < samples.Length + SincHalf; i++)
        {
            int place = whole + i;
            if (place < 0 || place >= sound.Length)
                continue;
            float sum = 0f;
            for (int k = 0; k < taps.Length; k++)
            {
                int source = i - (k - SincHalf + 1);
                if (source >= 0 && source < samples.Length)
                    sum += taps[k] * samples[source];
            }

            double choke = place < chokeAt ? 1.0 : Math.Max(0.0, 1.0 - ((place - chokeAt) / fadeLength));
            sound[place] += gain * sum * (float)choke;
            if (choke <= 0.0)
                break;
        }
    }
}
