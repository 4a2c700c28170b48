namespace Hindbeat.Feel;

/// <summary>Weighted sums of a parabola's normal equations, y = A + B·x + C·x²; additive, so blocks can be taken out.</summary>
internal struct Quadratic
{
    private double _s0, _s1, _s2, _s3, _s4, _y0, _y1, _y2;

    public void Add(double x, double y, double weight)
    {
        double wx = weight * x, wx2 = wx * x;
        _s0 += weight;
        _s1 += wx;
        _s2 += wx2;
        _s3 += wx2 * x;
        _s4 += wx2 * x * x;
        _y0 += weight * y;
        _y1 += wx * y;
        _y2 += wx2 * y;
    }

    public void Add(in Quadratic other) => Combine(other, 1);

    public void Remove(in Quadratic other) => Combine(other, -1);

    /// <summary>The fitted parabola; null when the places do not determine one.</summary>
    public readonly (double A, double B, double C)? Solve()
    {
        double d = Determinant(_s0, _s1, _s2, _s1, _s2, _s3, _s2, _s3, _s4);
        if (!(Math.Abs(d) > 1e-12 * _s0 * _s2 * _s4))
            return null;
        return (Determinant(_y0, _s1, _s2, _y1, _s2, _s3, _y2, _s3, _s4) / d,
            Determinant(_s0, _y0, _s2, _s1, _y1, _s3, _s2, _y2, _s4) / d,
            Determinant(_s0, _s1, _y0, _s1, _s2, _y1, _s2, _s3, _y2) / d);
    }

    private void Combine(in Quadratic other, double sign)
    {
        _s0 += sign * other._s0;
        _s1 += sign * other._s1;
        _s2 += sign * other._s2;
        _s3 += sign * other._s3;
        _s4 += sign * other._s4;
        _y0 += sign * other._y0;
        _y1 += sign * other._y1;
        _y2 += sign * other._y2;
    }

    private static double Determinant(double a, double b, double c, double d, double e, double f, double g, double h, double i) =>
        (a * ((e * i) - (f * h))) - (b * ((d * i) - (f * g))) + (c * ((d * h) - (e * g)));
}
