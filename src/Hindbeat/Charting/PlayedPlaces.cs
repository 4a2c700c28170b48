using Hindbeat.Units;

namespace Hindbeat.Charting;

/// <summary>
/// Where in a bar's drawing a moment lies: between two columns time runs evenly, so a stroke that is late by half
/// the way to the next column is drawn half way to it.
/// </summary>
internal sealed class PlayedPlaces
{
    private const double SoftestSize = 0.6;
    private const double LoudestSize = 1.2;

    private readonly Chart _chart;
    private readonly double[] _places;
    private readonly double[] _x;

    /// <param name="origins">Of the columns, from the bar's left edge.</param>
    public PlayedPlaces(Chart chart, BarLayout layout, double[] origins, double width)
    {
        _chart = chart;
        _places = [.. layout.Columns.Select(column => column.At.ToDouble()), (layout.Bar.Start + layout.Bar.Length).ToDouble()];
        _x = [.. origins, width];
    }

    /// <summary>How far right of its written place a stroke is drawn, in spaces; left when early.</summary>
    public double Shift(Fraction at, Seconds deviation)
    {
        double written = at.ToDouble();
        return X(written + (deviation / _chart.Tempo.Beat * _chart.Meter.BeatLength.ToDouble())) - X(written);
    }

    /// <summary>Size of a head against full size.</summary>
    public static double SizeOf(int velocity) => SoftestSize + ((LoudestSize - SoftestSize) * velocity / 127.0);

    private double X(double place)
    {
        int left = 0;
        while (left + 2 < _places.Length && _places[left + 1] <= place)
            left++;
        double share = (place - _places[left]) / (_places[left + 1] - _places[left]);
        return _x[left] + (share * (_x[left + 1] - _x[left]));
    }
}
