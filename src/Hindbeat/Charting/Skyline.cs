namespace Hindbeat.Charting;

/// <summary>
/// What is already drawn in a system, asked from above and below: marks are set where nothing stands yet.
/// Staff spaces, y downwards, 0 on the middle line.
/// </summary>
internal sealed class Skyline
{
    private readonly List<Box> _boxes = [];

    public void Add(Box box) => _boxes.Add(box);

    /// <summary>The highest ink between two places; the given height when nothing is higher.</summary>
    public double Top(double left, double right, double atMost)
    {
        double top = atMost;
        foreach (Box box in _boxes)
        {
            if (box.Left < right && box.Right > left)
                top = Math.Min(top, box.Top);
        }

        return top;
    }

    /// <summary>The lowest ink between two places; the given depth when nothing is lower.</summary>
    public double Bottom(double left, double right, double atLeast)
    {
        double bottom = atLeast;
        foreach (Box box in _boxes)
        {
            if (box.Left < right && box.Right > left)
                bottom = Math.Max(bottom, box.Bottom);
        }

        return bottom;
    }
}
