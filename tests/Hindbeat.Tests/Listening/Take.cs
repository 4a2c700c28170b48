using System.Runtime.InteropServices;
using Hindbeat.Listening;
using Hindbeat.Performances;
using Hindbeat.Sound;
using Hindbeat.Units;

namespace Hindbeat.Tests.Listening;

/// <summary>Sounds with known strokes, laid together from the recorded strokes in tests/data/strokes (see the README there).</summary>
internal sealed class Take
{
    public const int Rate = MonoSound.AnalysisRate;
    private readonly List<(long Sample, string Stroke, float Gain)> _strokes = [];

    public Take With(double seconds, string stroke, float gain = 1)
    {
        _strokes.Add(((long)Math.Round(seconds * Rate), stroke, gain));
        return this;
    }

    /// <summary>Four bars at 100 bpm from 0.5 s: kick on 1 and 3, snare on 2 and 4, closed hat on every eighth (0.3 s).</summary>
    public static Take Groove(int bars = 4, double kickLate = 0, double snareLate = 0)
    {
        Take take = new();
        for (int eighth = 0; eighth < bars * 8; eighth++)
        {
            double time = 0.5 + (0.3 * eighth);
            take.With(time, "hat-closed", 0.8f);
            if (eighth % 4 == 0)
                take.With(time + kickLate, "kick");
            if (eighth % 4 == 2)
                take.With(time + snareLate, "snare");
        }

        return take;
    }

    public float[] Samples(double seconds, int shift = 0, float gain = 0.5f, float noise = 1e-5f)
    {
        float[] samples = new float[(int)(seconds * Rate)];
        Random random = new(7);
        for (int i = 0; i < samples.Length; i++)
            samples[i] = noise * ((2 * random.NextSingle()) - 1);
        foreach ((long sample, string stroke, float strokeGain) in _strokes)
        {
            float[] wave = Stroke(stroke);
            for (int i = 0; i < wave.Length && sample + shift + i < samples.Length; i++)
                samples[sample + shift + i] += gain * strokeGain * wave[i];
        }

        return samples;
    }

    public ListeningResult Heard(double seconds, int shift = 0, float gain = 0.5f) => Heard(Samples(seconds, shift, gain));

    public static ListeningResult Heard(float[] samples, (AudioTime, AudioTime)? passage = null)
    {
        using MonoSound sound = MonoSound.FromSamples(samples);
        return new SignalListener().Listen(sound, passage);
    }

    public static double[] Times(ListeningResult result, params KitPiece[] pieces) =>
        [.. result.Hits.Where(hit => pieces.Contains(hit.Piece)).Select(hit => hit.Time.TotalSeconds)];

    /// <summary>The samples of a 16-bit mono WAV file as the README there describes it: a header of 44 bytes.</summary>
    public static float[] Stroke(string name)
    {
        byte[] file = File.ReadAllBytes(Path.Combine(LayerTests.RepositoryRoot(), "tests", "data", "strokes", name + ".wav"));
        return [.. MemoryMarshal.Cast<byte, short>(file.AsSpan(44)).ToArray().Select(sample => sample / 32768f)];
    }
}
