namespace Hindbeat.Listening;

/// <summary>
/// Where something may have been struck: peaks of the onset strength in a low, a middle and a high zone,
/// those near together taken as one moment. Each zone has its own peaks so that a hat is not lost under a kick.
/// </summary>
internal static class StrokeCandidates
{
    /// <summary>Strength bands of each zone: up to 300 Hz, to 2.5 kHz, above.</summary>
    private static readonly Range[] Zones = [0..3, 3..6, 6..9];

    /// <summary>A peak is the largest value this many frames to either side (17 ms).</summary>
    private const int PeakReach = 3;

    /// <summary>Frames to either side over which the usual strength is taken (±0.12 s).</summary>
    private const int UsualReach = 20;

    /// <summary>A peak stands out from the usual strength by this much (natural-log units of the compressed level).</summary>
    private const float LeastRise = 0.25f;

    /// <summary>And by this multiple of it.</summary>
    private const float UsualTimes = 0.9f;

    private const int CutEnd = 4;

    /// <summary>Peaks of different zones up to this many frames apart (23 ms) are one moment: kick and hat together, one a little late.</summary>
    private const int Together = 4;

    /// <summary>Frames (of the strength) at which something starts, ascending.</summary>
    public static List<Candidate> Find(OnsetStrength strength)
    {
        List<(int Frame, int Zone, float Rise)> peaks = [];
        float[] sum = new float[strength.Frames];
        for (int zone = 0; zone < Zones.Length; zone++)
        {
            (int first, int count) = Zones[zone].GetOffsetAndLength(strength.Bands.Count);
            for (int i = 0; i < sum.Length; i++)
            {
                sum[i] = 0;
                for (int band = first; band < first + count; band++)
                    sum[i] += strength.Bands[band][i] / count;
            }

            AddPeaks(sum, zone, peaks);
        }

        peaks.Sort((a, b) => a.Frame != b.Frame ? a.Frame.CompareTo(b.Frame) : a.Zone.CompareTo(b.Zone));
        return Group(peaks);
    }

    /// <summary>The largest strength of each zone within a candidate's frames, one to either side.</summary>
    public static void Rises(OnsetStrength strength, Candidate candidate, Span<float> rises)
    {
        rises.Clear();
        for (int zone = 0; zone < Zones.Length; zone++)
        {
            (int first, int count) = Zones[zone].GetOffsetAndLength(strength.Bands.Count);
            for (int i = Math.Max(0, candidate.Frame - 1); i <= Math.Min(strength.Frames - 1, candidate.LastFrame + 1); i++)
            {
                float sum = 0;
                for (int band = first; band < first + count; band++)
                    sum += strength.Bands[band][i] / count;
                rises[zone] = Math.Max(rises[zone], sum);
            }
        }
    }

    private static void AddPeaks(float[] sum, int zone, List<(int Frame, int Zone, float Rise)> peaks)
    {
        double running = 0;
        for (int i = 0; i < Math.Min(UsualReach, sum.Length); i++)
            running += sum[i];
        // In the last frames a cut end looks like a click.
        for (int i = 0; i < sum.Length - CutEnd; i++)
        {
            if (i + UsualReach < sum.Length)
                running += sum[i + UsualReach];
            if (i - UsualReach - 1 >= 0)
                running -= sum[i - UsualReach - 1];
            float usual = (float)(running / ((2 * UsualReach) + 1));
            if (sum[i] >= LeastRise + (UsualTimes * usual) && IsPeak(sum, i))
                peaks.Add((i, zone, sum[i]));
        }
    }

    private static bool IsPeak(float[] sum, int i)
    {
        for (int j = Math.Max(0, i - PeakReach); j <= Math.Min(sum.Length - 1, i + PeakReach); j++)
        {
            if (sum[j] > sum[i] || (sum[j] == sum[i] && j < i))
                return false;
        }

        return true;
    }

    private static List<Candidate> Group(List<(int Frame, int Zone, float Rise)> peaks)
    {
        List<Candidate> groups = [];
        for (int i = 0; i < peaks.Count;)
        {
            int end = i;
            int zones = 0;
            float rise = 0;
            Candidate candidate = new(peaks[i].Frame, peaks[i].Frame, 0, -1, -1, -1);
            // A second peak of the same zone is a second stroke, however near.
            while (end < peaks.Count && peaks[end].Frame <= peaks[i].Frame + Together && (zones & (1 << peaks[end].Zone)) == 0)
            {
                zones |= 1 << peaks[end].Zone;
                rise = Math.Max(rise, peaks[end].Rise);
                candidate = candidate.WithPeak(peaks[end].Zone, peaks[end].Frame);
                end++;
            }

            groups.Add(candidate with { LastFrame = peaks[end - 1].Frame, Rise = rise });
            i = end;
        }

        return groups;
    }
}

/// <summary>A moment at which something may have been struck, in frames of <see cref="BandPowers"/>.</summary>
/// <param name="Frame">Of its first peak.</param>
/// <param name="LastFrame">Of its last peak, another zone's; the same as <paramref name="Frame"/> when there is one.</param>
/// <param name="Rise">The largest strength.</param>
/// <param name="LowFrame">Of the low zone's peak; −1 when it has none. So the other two.</param>
internal readonly record struct Candidate(int Frame, int LastFrame, float Rise, int LowFrame, int MiddleFrame, int HighFrame)
{
    public Candidate WithPeak(int zone, int frame) => zone switch
    {
        0 => this with { LowFrame = frame },
        1 => this with { MiddleFrame = frame },
        _ => this with { HighFrame = frame },
    };

    /// <summary>The frame at which a family starts: its own zone's peak where it has one.</summary>
    public int FrameOf(StrokeFamily family)
    {
        int own = family switch
        {
            StrokeFamily.Kick or StrokeFamily.Tom => LowFrame,
            StrokeFamily.Snare => MiddleFrame,
            _ => HighFrame,
        };
        return own >= 0 ? own : Frame;
    }
}
