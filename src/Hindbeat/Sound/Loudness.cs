namespace Hindbeat.Sound;

/// <summary>Loudness and true peak of sounds that lie in memory (ITU-R BS.1770; see the two meters).</summary>
public static class Loudness
{
    /// <summary>Integrated loudness in LUFS; negative infinity for silence or less than 400 ms.</summary>
    public static double IntegratedLufs(StereoSound sound)
    {
        ArgumentNullException.ThrowIfNull(sound);
        var meter = new LoudnessMeter(sound.SampleRate);
        meter.Add(sound.Left, sound.Right);
        return meter.IntegratedLufs();
    }

    /// <summary>The higher channel's true peak in dBTP; −120 for silence.</summary>
    public static double TruePeakDbtp(StereoSound sound)
    {
        ArgumentNullException.ThrowIfNull(sound);
        var left = new TruePeakMeter();
        var right = new TruePeakMeter();
        left.Add(sound.Left);
        right.Add(sound.Right);
        left.Finish();
        right.Finish();
        return Math.Max(left.Dbtp, right.Dbtp);
    }
}
