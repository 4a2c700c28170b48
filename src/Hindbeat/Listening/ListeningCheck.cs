using System.Numerics.Tensors;
using Hindbeat.Performances;
using Hindbeat.Sound;

namespace Hindbeat.Listening;

/// <summary>What makes this recording harder to hear than it might be.</summary>
internal static class ListeningCheck
{
    private const int FewStrokes = 8;
    private const double UnsureBelow = 0.7;
    private const double ManyUnsure = 0.3;

    /// <summary>Median share of the power at a stroke that was there before it; solo drums in a room stay well under this.</summary>
    private const double MuchBefore = 0.25;

    /// <summary>Power above 6 kHz as share of all, over the whole passage; drums with hats have 100 times this.</summary>
    private const double HardlyAnyHighs = 1e-6;

    private const float FullScale = 0.999f;

    /// <param name="strokes">First and last frame of every clear stroke.</param>
    public static List<Doubt> Doubts(MonoSound sound, BandPowers powers, IReadOnlyList<(int Frame, int LastFrame)> strokes, List<Hit> hits, long from, long to)
    {
        List<Doubt> doubts = [];
        if (hits.Count < FewStrokes)
            doubts.Add(new FewStrokesHeard(hits.Count));
        int clipped = ClippedPlaces(sound, from, to);
        if (clipped > 0)
            doubts.Add(new ClippedSound(clipped));
        if (powers.ShareAbove(6000) < HardlyAnyHighs)
            doubts.Add(new NoHighRange());
        double before = ShareBefore(powers, strokes);
        if (before > MuchBefore)
            doubts.Add(new SoundUnderDrums(before));
        double unsure = hits.Count(hit => hit.Confidence < UnsureBelow) / (double)hits.Count;
        if (unsure > ManyUnsure)
            doubts.Add(new UnsureHits(unsure));
        return doubts;
    }

    /// <summary>Runs of three samples or more at full scale; one sample may just be a loud peak.</summary>
    private static int ClippedPlaces(MonoSound sound, long from, long to)
    {
        float[] block = new float[16384];
        int places = 0;
        int run = 0;
        for (long start = from; start < to; start += block.Length)
        {
            Span<float> part = block.AsSpan(0, (int)Math.Min(block.Length, to - start));
            sound.Read(start, part);
            if (Math.Abs(TensorPrimitives.MaxMagnitude<float>(part)) < FullScale)
            {
                run = 0;
                continue;
            }

            foreach (float sample in part)
            {
                run = Math.Abs(sample) >= FullScale ? run + 1 : 0;
                if (run == 3)
                    places++;
            }
        }

        return places;
    }

    private static double ShareBefore(BandPowers powers, IReadOnlyList<(int Frame, int LastFrame)> strokes)
    {
        List<double> shares = [];
        foreach ((int frame, int lastFrame) in strokes)
        {
            int before = frame - 4;
            int at = lastFrame + 2;
            if (before < 0 || at >= powers.Frames)
                continue;
            double then = 0;
            double now = 0;
            for (int band = 0; band < BandPowers.Bands; band++)
            {
                then += powers.At(before)[band];
                now += powers.At(at)[band];
            }

            shares.Add(now > 0 ? Math.Min(1, then / now) : 1);
        }

        shares.Sort();
        return shares.Count == 0 ? 0 : shares[shares.Count / 2];
    }
}
