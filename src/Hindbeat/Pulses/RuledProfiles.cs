using Hindbeat.Performances;

namespace Hindbeat.Pulses;

/// <summary>
/// Profiles for meters that no data taught, from what drummers do in any meter (common practice, no source): kick and
/// crash on one, time on every beat or every second one, a backbeat somewhere in the later part of the bar.
/// </summary>
internal static class RuledProfiles
{
    private const double Rare = 0.004;
    private const double Seldom = 0.05;

    /// <summary>One profile a place of the backbeat.</summary>
    public static double[][] For(Meter meter)
    {
        int beats = meter.BeatsPerBar;
        List<double[]> profiles = [];
        for (int backbeat = Math.Max(1, beats / 2); backbeat < Math.Max(2, beats); backbeat++)
        {
            double[] chances = new double[StrokeTrain.Voices * beats * BarSlots.PerBeat];
            Array.Fill(chances, Rare);
            for (int beat = 0; beat < beats; beat++)
            {
                foreach (int slot in (int[])(meter.IsCompound ? [0, 4, 8] : [0, 6]))
                {
                    Set(chances, meter, Voice.Kick, beat, slot, beat == 0 && slot == 0 ? 0.85 : beat == backbeat ? Seldom : 0.2);
                    Set(chances, meter, Voice.Backbeat, beat, slot, beat == backbeat && slot == 0 ? 0.7 : beat == 0 ? 0.02 : 0.1);
                    Set(chances, meter, Voice.LoudTime, beat, slot, slot == 0 ? 0.6 : 0.35);
                    Set(chances, meter, Voice.SoftTime, beat, slot, slot == 0 ? 0.25 : 0.4);
                    Set(chances, meter, Voice.GhostSnare, beat, slot, 0.08);
                    Set(chances, meter, Voice.Tom, beat, slot, beat >= beats / 2 ? 0.05 : 0.02);
                }

                foreach (int slot in (int[])(meter.IsCompound ? [2, 6, 10] : [3, 9]))
                {
                    foreach (Voice voice in (Voice[])[Voice.Kick, Voice.GhostSnare, Voice.SoftTime, Voice.LoudTime])
                        Set(chances, meter, voice, beat, slot, Seldom);
                }
            }

            Set(chances, meter, Voice.Crash, 0, 0, 0.12);
            profiles.Add(chances);
        }

        return [.. profiles];
    }

    private static void Set(double[] chances, Meter meter, Voice voice, int beat, int slot, double chance) =>
        chances[((((int)voice * meter.BeatsPerBar) + beat) * BarSlots.PerBeat) + slot] = chance;
}
