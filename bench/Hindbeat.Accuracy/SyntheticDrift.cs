using Hindbeat.Performances;
using Hindbeat.Pulses;
using Hindbeat.Tests.Feel;
using Hindbeat.Units;

namespace Hindbeat.Accuracy;

/// <summary>Invented performances whose tempo changes by a known law, 5 ms of jitter on every stroke: how near does the curve come?</summary>
internal static class SyntheticDrift
{
    private const int Beats = 96;
    private const double Jitter = 0.005;

    /// <summary>Largest error of the tempo over two beats, per cent, away from the first and last bar.</summary>
    public static IEnumerable<(string Name, double Error)> Errors()
    {
        yield return ("slow wave of ±6 bpm in 32 s", Largest(Integrate(time => 100 + (6 * Math.Sin(2 * Math.PI * time / 32)))));
        yield return ("ritardando 104 to 84 bpm over four bars", Largest(ByBeat(beat => 104 - (20 * Math.Clamp((beat - 64) / 16, 0, 1)))));
        yield return ("jump of 2 % in the middle", Largest(ByBeat(beat => beat < 48 ? 100 : 102)));
    }

    private static double[] ByBeat(Func<double, double> bpm)
    {
        double[] times = new double[Beats + 1];
        for (int k = 1; k < times.Length; k++)
            times[k] = times[k - 1] + (60 / bpm(k - 0.5));
        return times;
    }

    private static double[] Integrate(Func<double, double> bpm)
    {
        double[] times = new double[Beats + 1];
        double beats = 0;
        double time = 0;
        for (int k = 1; k < times.Length;)
        {
            const double step = 1e-4;
            beats += bpm(time + (step / 2)) / 60 * step;
            time += step;
            if (beats >= k)
                times[k++] = time;
        }

        return times;
    }

    private static double Largest(double[] beats)
    {
        var random = new Random(11);
        List<Hit> hits = [];
        void Strike(double place, KitPiece piece, int velocity)
        {
            int left = Math.Min((int)place, Beats - 1);
            double time = beats[left] + ((place - left) * (beats[left + 1] - beats[left]));
            hits.Add(new Hit(AudioTime.FromSeconds(1 + time + (Jitter * InventedFeel.Normal(random))), piece, velocity, Level.FromDbfs(-20), 1));
        }

        for (int half = 0; half < 2 * Beats; half++)
        {
            Strike(half / 2.0, KitPiece.HatClosed, half % 2 == 0 ? 85 : 65);
            if (half % 2 == 0)
                Strike(half / 2.0, half % 4 == 0 ? KitPiece.Kick : KitPiece.Snare, 110);
            if (half % 8 == 5)
                Strike(half / 2.0, KitPiece.Kick, 90);
        }

        Pulse pulse = PulseFinder.Find(hits, null, new PulseOptions()).Performance.Pulse;
        double worst = 0;
        for (int k = 5; k < Beats - 4; k++)
        {
            double place = pulse.BeatsAt(AudioTime.FromSeconds(1 + beats[k]));
            double found = (pulse.TimeAt(place + 1) - pulse.TimeAt(place - 1)).Value;
            worst = Math.Max(worst, 100 * Math.Abs((found / (beats[k + 1] - beats[k - 1])) - 1));
        }

        return worst;
    }
}
