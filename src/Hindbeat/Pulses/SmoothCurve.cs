namespace Hindbeat.Pulses;

/// <summary>
/// Beat times from strokes with known places: minimises Σ w·(t − b(u))² + λ·Σ(b[k+1] − 2b[k] + b[k−1])², b running
/// straight between beats. The second differences are the changes of the beat's length, so λ says how slowly the
/// tempo may breathe; λ → ∞ is one straight line.
/// </summary>
/// <remarks>
/// A discrete smoothing spline (Whittaker, "On a new method of graduation", Proc. Edinburgh Math. Soc. 41, 1922).
/// The matrix has two bands beside the diagonal, so the cost is linear in the beats. For one stroke a beat the curve
/// follows waves longer than about 2π·λ^¼ beats and flattens shorter ones.
/// </remarks>
internal sealed class SmoothCurve
{
    private readonly int _beats;
    private readonly double[] _d;
    private readonly double[] _l1;
    private readonly double[] _l2;

    private SmoothCurve(int beats)
    {
        _beats = beats;
        _d = new double[beats];
        _l1 = new double[beats];
        _l2 = new double[beats];
        Beats = new double[beats];
    }

    /// <summary>Seconds of beat 0, 1, ...</summary>
    public double[] Beats { get; }

    /// <summary>Trace of the smoother: how many free numbers the curve has used; at least 2 (a line).</summary>
    public double DegreesOfFreedom { get; private set; }

    /// <summary>Weighted sum of squared residuals, seconds².</summary>
    public double ResidualSquares { get; private set; }

    /// <param name="places">Beats from beat 0 (fractional), in [0, beats − 1].</param>
    /// <param name="times">Seconds.</param>
    /// <param name="weights">0 or more, 1 = a usual stroke.</param>
    /// <param name="beats">At least 3.</param>
    public static SmoothCurve Fit(ReadOnlySpan<double> places, ReadOnlySpan<double> times, ReadOnlySpan<double> weights, int beats, double lambda)
    {
        SmoothCurve curve = new(beats);
        double[] diagonal = curve._d;
        double[] one = curve._l1;
        double[] two = curve._l2;
        double[] right = curve.Beats;
        for (int k = 1; k + 1 < beats; k++)
        {
            diagonal[k - 1] += lambda;
            diagonal[k] += 4 * lambda;
            diagonal[k + 1] += lambda;
            one[k - 1] -= 2 * lambda;
            one[k] -= 2 * lambda;
            two[k - 1] += lambda;
        }

        for (int i = 0; i < places.Length; i++)
        {
            (int left, double f) = Split(places[i], beats);
            double w = weights[i];
            diagonal[left] += w * (1 - f) * (1 - f);
            diagonal[left + 1] += w * f * f;
            one[left] += w * f * (1 - f);
            right[left] += w * (1 - f) * times[i];
            right[left + 1] += w * f * times[i];
        }

        curve.Solve();
        curve.Judge(places, times, weights);
        return curve;
    }

    /// <summary>λ that keeps waves of so many beats and longer, when a beat holds strokes of so much weight.</summary>
    public static double Lambda(double waveBeats, double weightPerBeat) => weightPerBeat * Math.Pow(waveBeats / (2 * Math.PI), 4);

    /// <summary>When a (fractional) place falls, seconds.</summary>
    public double At(double place)
    {
        (int left, double f) = Split(place, _beats);
        return Beats[left] + (f * (Beats[left + 1] - Beats[left]));
    }

    private static (int Left, double Share) Split(double place, int beats)
    {
        int left = Math.Clamp((int)Math.Floor(place), 0, beats - 2);
        return (left, place - left);
    }

    /// <summary>LDLᵀ in place; one[k], two[k] become L[k+1,k], L[k+2,k].</summary>
    private void Solve()
    {
        for (int k = 0; k < _beats; k++)
        {
            // A trifle keeps a stretch without strokes from being singular when λ is 0.
            double pivot = _d[k] + 1e-12;
            _d[k] = pivot;
            double a = _l1[k];
            double b = _l2[k];
            if (k + 1 < _beats)
            {
                _d[k + 1] -= a * a / pivot;
                if (k + 2 < _beats)
                {
                    _l1[k + 1] -= a * b / pivot;
                    _d[k + 2] -= b * b / pivot;
                }
            }

            _l1[k] = a / pivot;
            _l2[k] = b / pivot;
        }

        for (int k = 0; k < _beats; k++)
        {
            if (k + 1 < _beats)
                Beats[k + 1] -= _l1[k] * Beats[k];
            if (k + 2 < _beats)
                Beats[k + 2] -= _l2[k] * Beats[k];
        }

        for (int k = _beats - 1; k >= 0; k--)
        {
            Beats[k] /= _d[k];
            if (k + 1 < _beats)
                Beats[k] -= _l1[k] * Beats[k + 1];
            if (k + 2 < _beats)
                Beats[k] -= _l2[k] * Beats[k + 2];
        }
    }

    /// <summary>Residuals, and the trace through the bands of the inverse (Takahashi's recursion, 1973; stated from memory).</summary>
    private void Judge(ReadOnlySpan<double> places, ReadOnlySpan<double> times, ReadOnlySpan<double> weights)
    {
        double[] z0 = new double[_beats + 2];
        double[] z1 = new double[_beats + 2];
        double[] z2 = new double[_beats + 2];
        for (int k = _beats - 1; k >= 0; k--)
        {
            z2[k] = k + 2 < _beats ? -(_l1[k] * z1[k + 1]) - (_l2[k] * z0[k + 2]) : 0;
            z1[k] = k + 1 < _beats ? -(_l1[k] * z0[k + 1]) - (_l2[k] * z1[k + 1]) : 0;
            z0[k] = (1 / _d[k]) - (_l1[k] * z1[k]) - (_l2[k] * z2[k]);
        }

        for (int i = 0; i < places.Length; i++)
        {
            (int left, double f) = Split(places[i], _beats);
            DegreesOfFreedom += weights[i] * (((1 - f) * (1 - f) * z0[left]) + (2 * f * (1 - f) * z1[left]) + (f * f * z0[left + 1]));
            double residual = times[i] - At(places[i]);
            ResidualSquares += weights[i] * residual * residual;
        }
    }
}
