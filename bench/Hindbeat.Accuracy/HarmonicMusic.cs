using Hindbeat.Sound;

namespace Hindbeat.Accuracy;

/// <summary>Invented music to lay under rendered drums: held four-note chords and a plucked bass at a tempo of its own, so that its notes do not start with the drums.</summary>
internal static class HarmonicMusic
{
    /// <summary>Not the takes' tempo.</summary>
    private const double Bpm = 97;

    /// <summary>A minor, F major, C major, G major: semitones over 110 Hz.</summary>
    private static readonly int[][] Chords = [[12, 15, 19, 24], [8, 12, 15, 20], [15, 19, 22, 27], [10, 14, 17, 22]];

    /// <param name="levelDb">Root mean square over that of the drums, decibels.</param>
    public static void AddTo(float[] drums, double levelDb)
    {
        float[] music = new float[drums.Length];
        double beat = 60 / Bpm * MonoSound.AnalysisRate;
        for (int i = 0; i * beat < music.Length; i++)
        {
            int[] chord = Chords[i / 4 % Chords.Length];
            Note(music, (int)(i * beat), (int)beat, chord[0] - 12, 0.5, decay: 0.35);
            if (i % 4 == 0)
            {
                foreach (int note in chord)
                    Note(music, (int)(i * beat), (int)(4 * beat), note, 0.15, decay: double.PositiveInfinity);
            }
        }

        double gain = Math.Pow(10, levelDb / 20) * Rms(drums) / Math.Max(1e-9, Rms(music));
        for (int i = 0; i < drums.Length; i++)
            drums[i] += (float)(gain * music[i]);
    }

    /// <summary>Eight harmonics, 10 ms to rise and 50 ms to end; <paramref name="decay"/> in seconds to 1/e.</summary>
    private static void Note(float[] music, int start, int length, int semitones, double amplitude, double decay)
    {
        const double Rate = MonoSound.AnalysisRate;
        double hertz = 110 * Math.Pow(2, semitones / 12.0);
        for (int i = 0; i < length && start + i < music.Length; i++)
        {
            double shape = Math.Min(1, Math.Min(i / (0.010 * Rate), (length - i) / (0.050 * Rate))) * Math.Exp(-i / Rate / decay);
            double sum = 0;
            for (int harmonic = 1; harmonic <= 8; harmonic++)
                sum += Math.Sin(2 * Math.PI * harmonic * hertz * i / Rate) / harmonic;
            music[start + i] += (float)(amplitude * shape * sum);
        }
    }

    private static double Rms(float[] samples) => Math.Sqrt(samples.Average(sample => (double)sample * sample));
}
