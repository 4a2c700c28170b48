namespace Hindbeat.Feel;

/// <summary>How strongly something starts, frame by frame, as plain numbers.</summary>
/// <param name="Values">0 or more, one a frame.</param>
/// <param name="FrameRate">Frames a second, above 0.</param>
/// <param name="Start">Moment of frame 0, seconds from the recording's start.</param>
public sealed record StrengthCurve(double[] Values, double FrameRate, double Start)
{
    /// <summary>Value at a moment, straight between frames; 0 outside.</summary>
    public double At(double seconds)
    {
        double frame = (seconds - Start) * FrameRate;
        int left = (int)Math.Floor(frame);
        if (left < 0 || left + 1 >= Values.Length)
            return 0;
        return Values[left] + ((Values[left + 1] - Values[left]) * (frame - left));
    }
}
